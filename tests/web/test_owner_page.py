"""The owner's page as a telephone without script sees it. Pip: surgery 10:30, home 16:30, check-ins 18:30 and 20:45."""

from __future__ import annotations

import io

import pytest
from django.test import Client
from PIL import Image

from followup.models import CheckIn, Flag, Message, Observation, Photo, Plan, Reply, Task, Verdict
from tests import world
from tests.owner_world import BEDTIME, EVENING, GOOD, NIGHT_PHONE, answer, move_clock, pip_at_home
from tests.pages import text_of
from tests.world import at

pytestmark = pytest.mark.django_db


@pytest.fixture
def pip():
    move_clock(EVENING)
    return pip_at_home()


@pytest.fixture
def phone():
    """A browser that keeps no cookie and would be refused if one were needed."""
    return Client(enforce_csrf_checks=True)


def test_the_list_shows_what_is_due_and_the_number_that_answers_now(pip, phone):
    move_clock(at("17:45"))  # within the hour before the evening's check-in, and the practice is open
    page = text_of(phone.get(pip.home))
    assert "Tell us how Pip is" in page
    assert page.index(f"tel:{pip.practice.phone}") < page.index("If it rings out") < page.index(f"tel:{NIGHT_PHONE}")

    move_clock(BEDTIME)
    page = text_of(phone.get(pip.home))
    assert f"tel:{NIGHT_PHONE}" in page
    assert f"tel:{pip.practice.phone}" not in page


def test_no_name_in_the_title_and_nothing_is_cached_or_told_onwards(pip, phone):
    response = phone.get(pip.home)
    title = response.content.decode().split("<title>")[1].split("</title>")[0]

    assert "Pip" not in title
    assert "Ada" not in title
    assert response["Cache-Control"] == "no-store"
    assert response["Referrer-Policy"] == "no-referrer"
    assert not response.cookies


def test_looking_at_every_page_changes_nothing(pip, phone):
    def everything():
        tables = (Plan, CheckIn, Reply, Observation, Flag, Message, Task, Verdict)
        return [list(table.objects.order_by("pk").values()) for table in tables]

    before = everything()
    for path in (
        "",
        f"ask/{pip.plan.pk}/one/",
        f"done/{pip.plan.pk}/one/",
        f"photo/{pip.plan.pk}/one/",
        "note/",
        f"died/{pip.plan.pk}/",
        f"weight/{pip.plan.pk}/",
        f"dose/{pip.plan.pk}/{pip.plan.doses.first().pk}/",
    ):
        assert phone.get(pip.home + path, follow=True).status_code == 200, path  # fmt: skip
    assert everything() == before


def test_a_good_evening_from_the_first_question_to_the_end(pip, phone):
    asked = answer(phone, pip.home, pip.plan, GOOD)

    assert asked[:2] == ["breathing", "demeanour"]  # worst consequence first
    assert asked[-2:] == ["worried", "text"]
    end = text_of(phone.get(f"{pip.home}done/{pip.plan.pk}/one/"))
    assert "Nothing you told us worries us today" in end
    assert "is fine" not in end
    assert "We ask you again today at 20:45." in end
    assert "does not replace your vet" in end
    assert Reply.objects.get().state == Reply.State.UNDERSTOOD
    assert pip.plan.check_ins.get(at=EVENING).state == CheckIn.State.ANSWERED


@pytest.mark.parametrize(("clock", "day", "since"), [("18:30", 0, "16:30"), ("07:30", 1, "yesterday at 16:30"),
                                                    ("18:30", 4, "Monday at 16:30")])  # fmt: skip
def test_the_question_names_when_we_last_heard(pip, phone, clock, day, since):
    move_clock(at(clock, day=day))

    page = phone.get(f"{pip.home}ask/{pip.plan.pk}/one/?q=appetite")

    assert f"Has Pip eaten anything since {since}?" in text_of(page)


def test_nothing_is_chosen_beforehand(pip, phone):
    page = phone.get(f"{pip.home}ask/{pip.plan.pk}/one/").content.decode()

    assert 'class="answer"' in page
    assert "your answer before" not in page


def test_a_red_answer_is_acted_on_before_the_form_is_finished(pip, phone):
    move_clock(BEDTIME)

    asked = answer(phone, pip.home, pip.plan, {"breathing": ["laboured"]})

    assert asked == ["breathing"]
    assert Flag.objects.get(concern="breathing").worst == 3
    end = text_of(phone.get(f"{pip.home}done/{pip.plan.pk}/one/"))
    assert "Phone a vet now" in end
    assert f"tel:{NIGHT_PHONE}" in end
    assert "9 Night Lane" in end
    assert "Go on answering" in end
    assert "Go on where you stopped" in text_of(phone.get(pip.home))

    rest = answer(phone, pip.home, pip.plan, {key: value for key, value in GOOD.items() if key != "breathing"})
    assert rest[0] == "warmth"  # hard breathing: is he cold as well?
    assert Observation.objects.count() == 2
    assert "Phone a vet now" in text_of(phone.get(f"{pip.home}done/{pip.plan.pk}/one/"))


def test_dull_before_food_is_no_red_answer_since_the_next_answer_may_be_good(pip, phone):
    move_clock(BEDTIME)
    path = f"{pip.home}ask/{pip.plan.pk}/one/"

    phone.post(path, {"question": "appetite", "entry": "1", "answer": "none"})

    assert not Observation.objects.exists()
    assert not Flag.objects.exists()
    assert Reply.objects.get().raw["entries"][0]["values"] == ["none"]


def test_a_bad_answer_opens_more_questions(pip, phone):
    asked = answer(phone, pip.home, pip.plan, GOOD | {"appetite": ["a_few_bites"], "wound": ["worse"]})

    assert asked[asked.index("appetite") + 1] == "belly"
    assert {"wound.edges", "wound.discharge", "wound.interference"} <= set(asked)


def test_back_changes_an_answer_and_the_newest_counts(pip, phone):
    path = f"{pip.home}ask/{pip.plan.pk}/one/"
    phone.post(path, {"question": "breathing", "entry": "1", "answer": "fast"})
    back = phone.get(f"{path}?q=breathing")
    said = '<button class="answer" type="submit" name="answer" value="fast"><span>Fast, but without effort <span'
    assert said in back.content.decode()
    assert back.content.decode().count("your answer before") == 1

    phone.post(path, {"question": "breathing", "entry": "2", "answer": "normal"})
    answer(phone, pip.home, pip.plan, GOOD)

    assert Observation.objects.get().facts["breathing"] == "normal"


def test_an_unfinished_check_in_can_be_gone_on_with_from_the_list(pip, phone):
    phone.post(f"{pip.home}ask/{pip.plan.pk}/one/", {"question": "breathing", "entry": "1", "answer": "normal"})

    page = text_of(phone.get(pip.home))

    assert f"ask/{pip.plan.pk}/one/" in page
    assert "Go on where you stopped" in page


def test_the_link_opened_twice_and_answered_twice_leaves_two_replies_and_one_plan_answered(pip):
    answer(Client(), pip.home, pip.plan, GOOD, "one")
    answer(Client(), pip.home, pip.plan, GOOD | {"appetite": ["less"]}, "two")

    assert Reply.objects.count() == 2
    assert pip.plan.check_ins.filter(state=CheckIn.State.ANSWERED).count() == 1


def test_a_dose_given_and_a_weight(pip, phone):
    dose = pip.plan.doses.order_by("at").first()
    move_clock(dose.at)

    assert f"dose/{pip.plan.pk}/{dose.pk}/" in text_of(phone.get(pip.home))
    phone.post(f"{pip.home}dose/{pip.plan.pk}/{dose.pk}/", {"entry": "d", "outcome": "given"})
    phone.post(f"{pip.home}weight/{pip.plan.pk}/", {"entry": "w", "typed": "890 g"})

    dose.refresh_from_db()
    assert dose.outcome == "given"
    assert [seen.facts.get("weight_g") for seen in Observation.objects.order_by("pk")] == [None, 890.0]


def test_he_has_died_is_asked_once_and_then_everything_ends(pip, phone):
    path = f"{pip.home}died/{pip.plan.pk}/"
    assert path in text_of(phone.get(pip.home))
    assert path in text_of(phone.get(f"{pip.home}ask/{pip.plan.pk}/one/"))
    assert "Has Pip died?" in text_of(phone.get(path))
    assert Plan.objects.get().state == Plan.State.RUNNING

    said = text_of(phone.post(path))

    assert "We are very sorry" in said
    assert Plan.objects.get().outcome == "died"
    again = text_of(phone.get(path))
    assert "We are very sorry" in again
    assert "Pip has died" not in again


def test_two_animals_of_one_owner_share_a_page_and_a_stranger_sees_neither(pip, phone):
    other = world.running_plan("rabbit", where=pip.practice, of=pip.owner)
    stranger = pip_at_home("oak-lane")

    page = text_of(phone.get(pip.home))

    assert "Pip" in page
    assert "Clover" in page
    for path in (f"ask/{other.pk}/one/", f"died/{other.pk}/", f"weight/{other.pk}/"):
        assert "Clover" not in text_of(phone.get(stranger.home + path)), path
    phone.post(f"{stranger.home}died/{other.pk}/")
    other.refresh_from_db()
    assert other.state == Plan.State.RUNNING


def test_a_photo_belongs_to_its_reply_and_only_to_staff_of_the_practice(pip, phone, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "photos"
    answer(phone, pip.home, pip.plan, GOOD | {"wound": ["worse"]})
    assert "Add a photo of the wound" in text_of(phone.get(f"{pip.home}done/{pip.plan.pk}/one/"))
    picture = io.BytesIO()
    Image.new("RGB", (40, 30), "pink").save(picture, "JPEG")
    picture.name, _ = "x.jpg", picture.seek(0)

    sent = phone.post(f"{pip.home}photo/{pip.plan.pk}/one/", {"entry": "p", "photo": picture})

    assert "the photo has arrived" in text_of(sent)
    photo = Photo.objects.get()
    assert photo.reply == Reply.objects.get()
    stranger = Client()
    stranger.force_login(pip_at_home("oak-lane").vet)
    assert stranger.get(f"/photos/{photo.pk}/").status_code in {403, 404}
    ours = Client()
    ours.force_login(pip.vet)
    shown = ours.get(f"/photos/{photo.pk}/")
    assert (shown.status_code, shown["Content-Type"], shown["X-Content-Type-Options"]) == (200, "image/jpeg", "nosniff")
    shown.close()


def test_after_the_end_the_link_still_shows_numbers_and_takes_a_note(pip, phone):
    Plan.objects.filter(pk=pip.plan.pk).update(state="closed", outcome="none", closed_at=at("12:00", day=14))
    move_clock(at("09:00", day=20))

    page = text_of(phone.get(pip.home))
    assert "The follow-up of Pip has ended" in page
    assert "tel:" in page
    gone = phone.get(f"{pip.home}ask/{pip.plan.pk}/one/")
    assert (gone.status_code, "tel:" in text_of(gone)) == (404, True)

    assert "your words are saved" in text_of(
        phone.post(f"{pip.home}note/", {"entry": "n", "words": "The wound is red."})
    )
    assert Reply.objects.get().text == "The wound is red."
    assert Task.objects.filter(kind=Task.Kind.READ_WORDS).count() == 1
