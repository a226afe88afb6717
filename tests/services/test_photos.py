"""Photos are turned upright, made smaller and stripped; what cannot be shown is kept aside and a person rings."""

from __future__ import annotations

import io
import os
import stat
from pathlib import Path

import pytest
from django.conf import settings
from PIL import Image

from followup.models import Photo, Task
from followup.services.photos import MOST_AN_HOUR, TooLarge, TooMany, Upload, keep_photo
from tests.owner_world import EVENING, pip_at_home

pytestmark = pytest.mark.django_db
ORIENTATION, TURNED = 0x0112, 6
GPS, MAKE = 0x8825, 0x010F


@pytest.fixture
def world(tmp_path, settings):
    settings.MEDIA_ROOT = tmp_path / "photos"
    return pip_at_home()


def jpeg(width=2000, height=1000, **save) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (width, height), "pink").save(out, "JPEG", **save)
    return out.getvalue()


def keep(world, data: bytes, client_id="one", size: int | None = None) -> Photo:
    upload = Upload(client_id, io.BytesIO(data), len(data) if size is None else size)
    return keep_photo(world.plan, upload, reply=None, now=EVENING)


def test_a_turned_photo_with_a_place_in_it_comes_out_upright_small_and_without_the_place(world):
    exif = Image.Exif()
    exif[ORIENTATION], exif[MAKE] = TURNED, "phone"
    exif[GPS] = {1: "N", 2: (51.0, 30.0, 0.0)}

    kept = keep(world, jpeg(exif=exif, comment=b"at home"))

    assert (kept.width, kept.height) == (800, 1600)  # 2000 x 1000 on its side, longest side 1600
    with Image.open(Path(settings.MEDIA_ROOT) / kept.file) as picture:
        assert (picture.format, dict(picture.getexif())) == ("JPEG", {})
        assert "comment" not in picture.info


def test_heic_as_many_telephones_send_it_is_read_and_stripped(world):
    data = (Path(__file__).parent.parent / "files" / "wound.heic").read_bytes()
    assert b"phone" in data

    kept = keep(world, data)

    assert (kept.state, kept.width, kept.height) == (Photo.State.SHOWN, 320, 200)
    assert b"phone" not in (Path(settings.MEDIA_ROOT) / kept.file).read_bytes()


def test_the_file_has_a_name_of_our_own_and_only_we_can_read_it(world):
    kept = keep(world, jpeg(100, 100))
    path = Path(settings.MEDIA_ROOT) / kept.file

    assert len(kept.file) == 32 + len(".jpg")
    assert stat.S_IMODE(os.stat(path).st_mode) == 0o600


@pytest.mark.parametrize("data", [b"%PDF-1.7 not a picture", b"", jpeg()[:400]])
def test_a_file_that_is_no_picture_is_kept_aside_and_a_person_rings(world, data):
    kept = keep(world, data)

    assert kept.state == Photo.State.UNREADABLE
    assert (Path(settings.MEDIA_ROOT) / kept.file).read_bytes() == data
    assert "could not be shown" in Task.objects.get().text


def test_a_small_file_that_unfolds_to_more_than_50_million_pixels_is_not_unfolded(world):
    out = io.BytesIO()
    Image.new("1", (8000, 7000)).save(out, "PNG")  # 56 million pixels in some kilobytes

    assert keep(world, out.getvalue()).state == Photo.State.UNREADABLE


def test_forty_megabytes_are_refused_with_a_sentence(world):
    with pytest.raises(TooLarge, match=r"This photo has 40 MB; we can take up to 25 MB\. Your words are safe\."):
        keep(world, b"x", size=40 * 1024 * 1024)
    assert not Photo.objects.exists()


def test_the_same_photo_twice_counts_once(world):
    assert keep(world, jpeg(50, 50)).pk == keep(world, jpeg(50, 50)).pk


def test_there_is_an_end_to_photos_in_one_hour(world):
    for number in range(MOST_AN_HOUR):
        keep(world, jpeg(10, 10), f"photo {number}")

    with pytest.raises(TooMany, match="words still reach us"):
        keep(world, jpeg(10, 10), "one more")
