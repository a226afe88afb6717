"""Any life of two practices: what people do and what breaks, in any order. Each step is checked by every invariant."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule

from tests.delivery.deeds import SAID
from tests.delivery.invariants import wrong_now
from tests.delivery.life import NEXT, Command, Life
from tests.delivery.people import LATER, People
from tests.delivery.sink import ANSWERS

PLANS, PRACTICES, PERSONS, FLAGS = st.integers(0, 4), st.integers(0, 1), st.integers(0, 5), st.integers(0, 3)
MEDIA = st.sampled_from(["email", "sms"])
MINUTES = st.sampled_from([NEXT, NEXT, NEXT, 0, 1, 2, 5, 16, 61, 240, 720])
SAYS = st.lists(st.sampled_from(sorted(ANSWERS)), max_size=3)
HOW = st.sampled_from(sorted(SAID))


def command(name: str, **arguments: st.SearchStrategy[Any]) -> st.SearchStrategy[Command]:
    """A thing to do, as a life keeps it."""
    return st.tuples(st.just(name), st.fixed_dictionaries(arguments))


KILLED = st.fixed_dictionaries(
    {"at": st.sampled_from(["claimed", "begun", "written"]), "nth": st.integers(0, 2), "meanwhile": st.none()}
)
"""The second worker dies too, and what it holds is leased when the first goes on."""
MEANWHILE = st.one_of(
    st.none(),
    command("tick", minutes=st.sampled_from([0, 1, 2, 5]), mail=SAYS, text=SAYS),
    command("tick", minutes=st.sampled_from([2, 5]), fault=KILLED),
    command("die", plan=PLANS),
    command("stay", plan=PLANS),
    command("weigh", plan=PLANS, share=st.sampled_from([0.8, 1.2])),
    command("stop_medicine", plan=PLANS),
    command("reply", plan=PLANS, how=HOW),
    command("pause", practice=PRACTICES),
    command("stop", person=PERSONS),
)
FAULT = st.fixed_dictionaries(
    {
        "at": st.sampled_from(["claimed", "begun", "written", "recorded"]),
        "nth": st.integers(0, 2),
        "meanwhile": MEANWHILE,
    }
)


class Delivery(RuleBasedStateMachine):
    """`people` is set by whoever runs it: they are made once, and each life begins with them as they are."""

    people: People

    def __init__(self) -> None:
        """Begin a life."""
        super().__init__()
        self.life = Life(self.people)
        self.lived = self.life.lived()
        self.lived.__enter__()
        self.sound = True

    def teardown(self) -> None:
        """Let everything come to its end, and look once more."""
        try:
            if self.sound:
                self.come_to_an_end()
        finally:
            self.lived.__exit__(None, None, None)

    def come_to_an_end(self) -> None:
        """Everything works again."""
        self.life.end()
        self.everything_holds()

    @invariant()
    def everything_holds(self) -> None:
        """Every numbered invariant."""
        found = wrong_now(self.life)
        self.sound = not found
        assert self.sound, "\n".join(found)

    @rule(minutes=MINUTES, down=st.booleans())
    def sending_was_down(self, minutes: int, down: bool) -> None:  # noqa: FBT001
        """For as long as that, or not at all."""
        self.life.do("tick", minutes=minutes, down=down)

    @rule(minutes=MINUTES)
    def all_is_well(self, minutes: int) -> None:
        """Everything arrives."""
        self.life.do("tick", minutes=minutes)

    @rule(minutes=MINUTES, mail=SAYS, text=SAYS)
    def channels_answer(self, minutes: int, mail: list[str], text: list[str]) -> None:
        """Channels answer as they like."""
        self.life.do("tick", minutes=minutes, mail=mail, text=text)

    @rule(minutes=MINUTES, mail=SAYS, text=SAYS, fault=FAULT)
    def something_happens_meanwhile(
        self, minutes: int, mail: list[str], text: list[str], fault: dict[str, Any]
    ) -> None:
        """A worker dies or sleeps in the middle of a send, or people do something."""
        self.life.do("tick", minutes=minutes, mail=mail, text=text, fault=fault)

    @rule(minutes=st.sampled_from([0, NEXT]))
    def again(self, minutes: int) -> None:
        """The same tick more than once."""
        self.life.do("tick_again", minutes=minutes)

    @rule(minutes=MINUTES, at=st.sampled_from(["claimed", "begun", "written"]), nth=st.integers(0, 1))
    def at_once(self, minutes: int, at: str, nth: int) -> None:
        """Two ticks at once."""
        self.life.do("tick_at_once", minutes=minutes, at=at, nth=nth)

    @rule(minutes=st.sampled_from([-180, -60, -5, 60, 600]))
    def the_clock_is_set(self, minutes: int) -> None:
        """By hand, or by a time server."""
        self.life.do("jump", minutes=minutes)

    @rule(what=st.sampled_from(["back_up", "restore", "confirm"]))
    def a_backup_is_made_or_put_back(self, what: str) -> None:
        """And a person lets messages go again."""
        self.life.do(what)

    @rule(plan=PLANS, how=HOW)
    def an_owner_answers(self, plan: int, how: str) -> None:
        """Well or badly, or in words."""
        self.life.do("reply", plan=plan, how=how)

    @rule(plan=PLANS, how=HOW)
    def a_reply_is_cut_off(self, plan: int, how: str) -> None:
        """The process dies when the reply is stored and not yet understood."""
        self.life.do("reply", plan=plan, how=how, fault={"at": "kept", "nth": 0, "meanwhile": None})

    @rule()
    def the_same_reply_again(self) -> None:
        """The network sends it twice."""
        self.life.do("same_again")

    @rule(plan=PLANS)
    def a_dose_is_given(self, plan: int) -> None:
        """And told."""
        self.life.do("dose", plan=plan)

    @rule(which=st.integers(0, len(LATER) - 1), species=st.sampled_from(["guinea_pig", "rabbit"]))
    def a_patient_is_enrolled(self, which: int, species: str) -> None:
        """On the first day."""
        self.life.do("enrol", which=which, species=species)

    @rule(what=st.sampled_from(["weigh", "stop_medicine", "stay", "come_home", "close", "die"]), plan=PLANS)
    def a_plan_changes(self, what: str, plan: int) -> None:
        """Staff write it down."""
        more = {"share": 0.8} if what == "weigh" else {}
        self.life.do(what, plan=plan, **more)

    @rule(practice=PRACTICES, what=st.sampled_from(["pause", "resume"]))
    def messages_are_paused(self, practice: int, what: str) -> None:
        """Or go on."""
        self.life.do(what, practice=practice)

    @rule(what=st.sampled_from(["stop", "start"]), person=PERSONS)
    def somebody_opts_out(self, what: str, person: int) -> None:
        """Or in again."""
        self.life.do(what, person=person)

    @rule(person=PERSONS, medium=MEDIA)
    def an_address_is_lost(self, person: int, medium: str) -> None:
        """Staff take it off the record."""
        self.life.do("lose_address", person=person, medium=medium)

    @rule(practice=PRACTICES, medium=MEDIA, enabled=st.booleans())
    def a_practice_has_its_own_channel(self, practice: int, medium: str, enabled: bool) -> None:  # noqa: FBT001
        """Or none any more."""
        self.life.do("own_channel", practice=practice, medium=medium, enabled=enabled)

    @rule(what=st.sampled_from(["take_on", "tell_outcome", "look"]), flag=FLAGS)
    def a_vet_acts(self, what: str, flag: int) -> None:
        """On a flag."""
        self.life.do(what, flag=flag)
