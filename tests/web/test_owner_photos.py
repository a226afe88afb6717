"""Photos from an owner's phone: several at once, odd ones, and what is said of them. The words are always safe."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image

from followup.models import Photo, Reply, Task
from tests.owner_world import EVENING, GOOD, answer, move_clock, pip_at_home
from tests.pages import text_of
from tests.wounds import jpeg, wound

pytestmark = pytest.mark.django_db


@pytest.fixture
def pip(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "photos"
    move_clock(EVENING)
    return pip_at_home()


@pytest.fixture
def phone(pip):
    client = Client(enforce_csrf_checks=True)
    answer(client, pip.home, pip.plan, GOOD | {"text": ["It looks odd."]})
    return client


def send(phone, pip, *files: bytes, entry: str = "p"):
    photos = [SimpleUploadedFile(f"photo {place}.jpg", data) for place, data in enumerate(files)]
    return phone.post(f"{pip.home}photo/{pip.plan.pk}/one/", {"entry": entry, "photo": photos})


def test_several_at_once_are_kept_each_once_however_often_they_are_sent(pip, phone):
    three = [jpeg(wound(brightness)) for brightness in (1, 0.9, 0.8)]
    send(phone, pip, *three)
    response = send(phone, pip, *three)

    assert "Thank you, 3 photos have arrived" in text_of(response)
    assert Photo.objects.filter(reply=Reply.objects.get(), flaw="").count() == Photo.objects.count() == 3


def test_one_that_is_refused_stops_no_other(pip, phone):
    response = send(phone, pip, b"\xff\xd8" + b"0" * (26 * 1024 * 1024), jpeg(wound()))

    assert response.status_code == 422
    assert "we can take up to 25 MB. Your words are safe" in text_of(response)
    assert "Thank you, the photo has arrived" in text_of(response)
    assert Photo.objects.count() == 1


@pytest.mark.parametrize(
    ("picture", "flaw", "said"),
    [(wound(0.1), "dark", "It is rather dark"), (wound().resize((40, 30)).resize((1600, 1200)), "blurred", "blurred")],
)
def test_a_dark_or_blurred_one_is_kept_and_spoken_of_kindly(pip, phone, picture, flaw, said):
    response = send(phone, pip, jpeg(picture))

    assert response.status_code == 200
    assert said in text_of(response)
    assert "it is saved all the same" in text_of(response)
    assert Photo.objects.get().flaw == flaw


def test_sixty_megapixels_are_taken(pip, phone):
    response = send(phone, pip, jpeg(Image.new("RGB", (9000, 6700), "pink")))

    assert "Thank you, the photo has arrived" in text_of(response)
    photo = Photo.objects.get()
    assert (photo.state, photo.width) == (Photo.State.SHOWN, 1600)


def test_sixty_megapixels_that_cannot_be_unfolded_small_go_to_a_person(pip, phone):
    out = io.BytesIO()
    Image.new("1", (9000, 6700)).save(out, "PNG")

    send(phone, pip, out.getvalue())

    assert Photo.objects.get().state == Photo.State.UNREADABLE


def test_a_film_goes_to_a_person_and_the_words_stay(pip, phone):
    film = b"\x00\x00\x00\x18ftypmp42\x00\x00\x00\x00mp42isom" + b"\x00" * 4096

    response = send(phone, pip, film)

    assert "We could not open this file as a picture" in text_of(response)
    assert Reply.objects.get().text == "It looks odd."
    assert Task.objects.filter(kind=Task.Kind.PHONE, text__contains="could not be shown").count() == 1


def test_of_a_file_that_is_two_things_only_the_picture_stays(pip, phone, settings):
    archive = io.BytesIO()
    with zipfile.ZipFile(archive, "w") as packed:
        packed.writestr("page.html", "<script>alert(1)</script>")

    send(phone, pip, jpeg(wound()) + archive.getvalue())

    kept = (Path(settings.MEDIA_ROOT) / Photo.objects.get().file).read_bytes()
    assert not zipfile.is_zipfile(io.BytesIO(kept))
    assert b"script" not in kept
    assert kept.endswith(b"\xff\xd9")
