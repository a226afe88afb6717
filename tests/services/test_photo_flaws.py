"""What is said of a photo that shows little; an ordinary one is never spoken of."""

from __future__ import annotations

import pytest
from PIL import Image, ImageFilter

from followup.services.photo_flaws import is_blurred, is_dark
from tests.wounds import wound


def test_a_plain_photo_has_no_flaw():
    assert (is_dark(wound()), is_blurred(wound())) == (False, False)


@pytest.mark.parametrize(("brightness", "dark"), [(0.5, False), (0.15, True), (0, True)])
def test_only_what_hardly_shows_anything_is_called_dark(brightness, dark):
    assert is_dark(wound(brightness)) is dark


@pytest.mark.parametrize(("radius", "blurred"), [(1, False), (25, True)])
def test_only_what_has_no_sharp_edge_is_called_blurred(radius, blurred):
    assert is_blurred(wound().filter(ImageFilter.GaussianBlur(radius))) is blurred


@pytest.mark.parametrize("size", [(1, 1), (2, 900), (3, 3)])
def test_the_smallest_picture_is_judged_without_an_error(size):
    picture = Image.new("RGB", size, "white")

    assert (is_dark(picture), is_blurred(picture)) == (False, True)
