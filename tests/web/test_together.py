"""Two or three patients of one owner, asked one after the other, as a telephone without script sees it."""

from __future__ import annotations

import re

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from followup.models import CheckIn, Flag, Observation, Plan, Reply
from tests import world
from tests.owner_world import EVENING, GOOD, Home, move_clock, pip_at_home
from tests.pages import text_of
from tests.world import at

pytestmark = pytest.mark.django_db
FIRST = dict(GOOD)


@pytest.fixture
def home() -> Home:
    """Pip, and Clover the rabbit, both due at 18:30."""
    move_clock(EVENING)
    found = pip_at_home()
    world.running_plan("rabbit", where=found.practice, of=found.owner, discharged_at=at("16:30").isoformat())
    return found


@pytest.fixture
def phone() -> Client:
    return Client(enforce_csrf_checks=True)


def plan(name: str) -> Plan:
    return Plan.objects.get(patient__name=name)


def begin(phone: Client, home: Home) -> str:
    """The path that the one button of the list leads to."""
    page = phone.get(home.home).content.decode()
    (path,) = set(re.findall(r'href="([^"]*/all/[0-9a-f]+/)"', page))
    return str(path)


def give(phone: Client, path: str, answers: dict[str, list[str]], entry: str = "") -> str:
    """Answer the question that stands at `path`; returns where it leads."""
    question = phone.get(path).context["question"]
    given = {"answer": answers[question.key]} if question.key in answers else {"skip": "1"}
    sent = phone.post(path, {"question": question.key, "entry": entry or f"{path}{question.key}", **given})
    assert sent.status_code == 302, text_of(sent)
    return str(sent["Location"])


def answer_all(phone: Client, path: str, answers: dict[str, list[str]]) -> str:
    """Every question of one patient; returns where the last answer leads."""
    while True:
        then = give(phone, path, answers)
        if then != path:
            return then
        assert phone.get(then).status_code in {200, 302}


def follow(phone: Client, path: str) -> str:
    """Where a link in the middle of a round ends."""
    response = phone.get(path)
    while response.status_code == 302:
        path = response["Location"]
        response = phone.get(path)
    return path


def test_the_list_names_both_large_and_leads_into_one_round(home, phone):
    page = text_of(phone.get(home.home))

    assert "<strong>Clover</strong> rabbit" in page
    assert "<strong>Pip</strong> guinea pig" in page
    assert "Tell us how they are, one after the other" in page
    assert "Tell us only how Pip is" in page
    assert "Tell us how Pip is" not in page


def test_one_patient_that_is_due_has_no_round(home, phone):
    plan("Clover").check_ins.update(state=CheckIn.State.ANSWERED)

    page = text_of(phone.get(home.home))

    assert "one after the other" not in page
    assert "Tell us how Pip is" in page


def test_every_heading_says_of_whom_it_is_and_each_answer_reaches_its_own(home, phone):
    start = begin(phone, home)
    clover = follow(phone, start)
    assert clover.endswith(f"/{plan('Clover').pk}/")
    heading = text_of(phone.get(clover)).split("<h1>")[1].split("</h1>")[0]
    assert "Clover, female rabbit" in heading
    assert "1 of 2" in heading

    onwards = answer_all(phone, clover, FIRST | {"appetite": ["less"]})
    pip = follow(phone, onwards)
    assert pip.endswith(f"/{home.plan.pk}/")
    heading = text_of(phone.get(pip)).split("<h1>")[1].split("</h1>")[0]
    assert "Pip, male guinea pig" in heading
    assert "2 of 2" in heading
    end = follow(phone, answer_all(phone, pip, FIRST))

    assert end.endswith("/done/")
    assert {seen.plan.patient.name: seen.facts["appetite"] for seen in Observation.objects.all()} == {
        "Clover": "less", "Pip": "normal",
    }  # fmt: skip
    assert Reply.objects.count() == 2
    for each in (home.plan, plan("Clover")):
        assert each.check_ins.get(at=EVENING).state == CheckIn.State.ANSWERED


def test_the_end_gives_each_patient_his_level_and_advice_the_worse_first(home, phone):
    start = begin(phone, home)
    onwards = answer_all(phone, follow(phone, start), FIRST)
    end = follow(phone, answer_all(phone, follow(phone, onwards), FIRST | {"demeanour": ["dull"]}))

    page = text_of(phone.get(end))

    assert page.index("Pip, guinea pig") < page.index("Keep watching") < page.index("Clover, rabbit")
    assert page.index("Clover, rabbit") < page.index("Nothing worrying told")
    assert page.count("does not replace your vet") == 2
    assert page.count("We ask you again today at 20:45.") == 2
    assert "is fine" not in page


def test_a_red_answer_of_one_shows_his_advice_at_once_and_the_others_questions_go_on(home, phone):
    clover = follow(phone, begin(phone, home))

    told = give(phone, clover, {"breathing": ["laboured"]})

    assert told.endswith(f"/{plan('Clover').pk}/done/")
    page = text_of(phone.get(told))
    assert "Phone a vet now" in page
    assert "Emergency</strong> Clover, female rabbit" in page
    assert "Go on answering" in page
    assert "Go on with the others" in page
    assert Flag.objects.get(concern="breathing").plan == plan("Clover")
    onwards = re.search(r'href="([^"]*\?after=\d+)"', phone.get(told).content.decode())
    assert onwards is not None
    pip = follow(phone, onwards[1])
    assert pip.endswith(f"/{home.plan.pk}/")
    end = follow(phone, answer_all(phone, pip, FIRST))
    page = text_of(phone.get(end))
    assert "<h1>Clover: Phone a vet now</h1>" in page
    assert "Go on answering about Clover" in page
    assert page.index("Clover, rabbit") < page.index("Pip, guinea pig")
    assert not Flag.objects.filter(plan=home.plan, level__gte=2).exists()


def test_what_needs_a_vet_by_the_last_answer_is_shown_before_the_next_patient(home, phone):
    """Nothing eaten since noon: urgent only once food and droppings are told."""
    clover = follow(phone, begin(phone, home))

    told = answer_all(phone, clover, FIRST | {"worried": ["very"]})

    assert told.endswith(f"/{plan('Clover').pk}/done/")
    page = text_of(phone.get(told))
    assert "Needs a vet's word" in page.replace("&#x27;", "'")
    assert "Go on with the others" in page


def test_one_may_be_left_for_later(home, phone):
    clover = follow(phone, begin(phone, home))
    page = phone.get(clover).content.decode()
    assert "Leave Clover for later" in page
    later = re.search(r'href="([^"]*\?after=\d+)"', page)
    assert later is not None
    end = follow(phone, answer_all(phone, follow(phone, later[1]), FIRST))

    page = text_of(phone.get(end))
    assert "Nothing told yet." in page
    assert "Tell us how Clover is" in page
    assert plan("Clover").check_ins.get(at=EVENING).state != CheckIn.State.ANSWERED
    assert "Tell us how Clover is" in text_of(phone.get(home.home))  # alone now: no round any more


def test_begun_and_left_it_is_gone_on_with_in_the_same_round(home, phone):
    start = begin(phone, home)
    clover = follow(phone, start)
    give(phone, clover, FIRST)

    assert begin(phone, home) == start
    assert follow(phone, start) == clover
    assert phone.get(clover).context["question"].key == "demeanour"
    assert Reply.objects.count() == 1


def test_back_leads_to_the_last_question_of_the_patient_before(home, phone):
    clover = follow(phone, begin(phone, home))
    pip = follow(phone, answer_all(phone, clover, FIRST))

    back = re.search(r'href="([^"]+)">Back', phone.get(pip).content.decode())

    assert back is not None
    assert back[1] == f"{clover}?q=text"
    page = phone.get(back[1])
    assert page.context["question"].key == "text"
    assert page.context["question"].patient == "Clover"
    sent = phone.post(clover, {"question": "text", "entry": "late", "typed": "She likes hay."})
    assert follow(phone, sent["Location"]) == pip
    assert Reply.objects.get(plan=plan("Clover")).text == "She likes hay."
    assert not Reply.objects.filter(plan=home.plan).exists()


def test_sent_twice_counts_once_and_only_for_its_patient(home, phone):
    clover = follow(phone, begin(phone, home))
    form = {"question": "breathing", "entry": "same", "answer": "normal"}
    phone.post(clover, form)
    phone.post(clover, form)

    assert [len(reply.raw["entries"]) for reply in Reply.objects.all()] == [1]
    pip = clover.replace(f"/{plan('Clover').pk}/", f"/{home.plan.pk}/")
    phone.post(pip, form)
    kept = [(str(reply.plan), len(reply.raw["entries"])) for reply in Reply.objects.order_by("pk")]
    assert kept == [(str(plan("Clover")), 1), (str(home.plan), 1)]


def test_words_that_say_a_death_pause_one_and_the_others_questions_go_on(home, phone):
    clover = follow(phone, begin(phone, home))
    while phone.get(clover).context["question"].key != "text":
        give(phone, clover, FIRST)
    told = phone.post(clover, {"question": "text", "entry": "t", "typed": "Clover has died."})["Location"]

    page = text_of(phone.get(told))
    assert "A person will read your words" in page
    assert follow(phone, f"{clover.rsplit('/', 2)[0]}/?after={plan('Clover').pk}").endswith(f"/{home.plan.pk}/")
    assert Plan.objects.get(pk=home.plan.pk).paused == ""


def test_a_stranger_opens_nobodys_round(home, phone):
    clover = follow(phone, begin(phone, home))
    stranger = pip_at_home("oak-lane")
    foreign = clover.replace(home.home, stranger.home)

    assert phone.get(foreign).status_code == 404
    assert phone.post(foreign, {"question": "breathing", "entry": "x", "answer": "laboured"}).status_code == 404
    assert not Reply.objects.exists()
    assert follow(phone, f"{stranger.home}all/abc/").endswith(f"/{stranger.plan.pk}/")  # his own


@pytest.mark.parametrize("session", ["x" * 41, "x" * 200])
def test_an_address_that_no_page_of_ours_made_opens_nothing(home, phone, session):
    assert phone.get(f"{home.home}all/{session}/").status_code == 404


def test_a_round_without_answers_has_no_end(home, phone):
    assert phone.get(f"{home.home}all/abc/done/")["Location"] == home.home
    assert phone.get(f"{home.home}all/abc/{home.plan.pk}/done/")["Location"] == home.home


def test_looking_changes_nothing(home, phone):
    def everything():
        return [list(table.objects.order_by("pk").values()) for table in (Plan, CheckIn, Reply, Observation, Flag)]

    before = everything()
    follow(phone, begin(phone, home))
    for path in ("all/abc/", "all/abc/done/", f"all/abc/{home.plan.pk}/", f"all/abc/?after={home.plan.pk}"):
        assert phone.get(home.home + path, follow=True).status_code == 200
    assert everything() == before


def queries(phone: Client, path: str) -> int:
    with CaptureQueriesContext(connection) as asked:
        assert phone.get(path).status_code == 200
    return len(asked)


def test_how_many_questions_to_the_database_each_page_puts(home, phone):
    """Pinned: a page that begins to ask more, or more for each patient, fails here."""
    round_ = begin(phone, home)
    clover = follow(phone, round_)
    pages = {"list": home.home, "question": clover}
    two = {name: queries(phone, path) for name, path in pages.items()}
    third = world.running_plan("rabbit", where=home.practice, of=home.owner, discharged_at=at("16:30").isoformat())
    third.patient.name = "Zinnia"
    third.patient.save()
    three = {name: queries(phone, path) for name, path in pages.items()}

    more = {name: three[name] - two[name] for name in pages}
    answer_all(phone, clover, FIRST)
    later = queries(phone, f"{clover}?q=breathing"), queries(phone, f"{round_}done/")
    assert (two, more, later) == (QUERIES, MORE_FOR_A_THIRD, LATER_QUESTION_AND_END)


QUERIES = {"list": 47, "question": 24}
MORE_FOR_A_THIRD = {"list": 4, "question": 0}
LATER_QUESTION_AND_END = (16, 41)
