"""What owners are asked, in plain words: for each observation key the sentence, the answers and why we ask.

Observations, not judgements; no word that only vets use. `%(patient)s` is the animal's name, `%(since)s` when we last
heard. Source of the answers: the case format; of the wording: plain-language rules (reading age 9 to 11).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from followup.domain.answers import NO, YES, Unsure
from followup.domain.terms import GRAZERS, Species


def gettext_noop(words: str) -> str:
    """Mark `words` for translators; they are translated where they are shown."""
    return words


class Kind(Enum):
    """How a question is answered."""

    CHOICE = "choice"
    SEVERAL = "several"
    WHEN = "when"
    WEIGHT = "weight"
    WORDS = "words"
    REASON = "reason"
    """One answer of several, and words beside it if the owner likes."""


@dataclass(frozen=True)
class Asked:
    """One question for people. `unsure`: what "I am not sure" stands for; None: it can only be skipped."""

    key: str
    words: str
    why: str
    answers: tuple[tuple[str, str], ...] = ()
    unsure: Unsure | None = None
    kind: Kind = Kind.CHOICE
    only: tuple[tuple[str, frozenset[Species]], ...] = ()
    why_others: str = ""
    """Why we ask, where what holds for small herbivores is not true of this species."""

    def answers_for(self, species: Species) -> tuple[tuple[str, str], ...]:
        """The answers that make sense for this species."""
        limited = dict(self.only)
        return tuple((value, words) for value, words in self.answers if species in limited.get(value, {species}))

    def why_for(self, species: Species) -> str:
        """Why this is asked of this species."""
        return self.why_others if self.why_others and species not in GRAZERS else self.why


GUT = gettext_noop("Small animals that stop eating or stop leaving droppings get ill within hours.")
EATS = gettext_noop("An animal that stops eating may be in pain, or ill.")
GOES = gettext_noop("It shows whether the gut works again after the operation.")
HEALING = gettext_noop("A wound that opens or gets infected is easier to treat early.")
COMFORT = gettext_noop("Animals hide pain. These small signs show it.")
AS_USUAL = gettext_noop("As usual")
COULD_NOT_CHECK = gettext_noop("I could not check")
_ = gettext_noop

_FIRST = (
    Asked(
        "breathing",
        _("How is %(patient)s breathing?"),
        _("Trouble breathing cannot wait."),
        (
            ("normal", _("Calm, as usual")),
            ("fast", _("Fast, but without effort")),
            ("laboured", _("Hard work: sides heaving, mouth open, or noisy")),
        ),
        Unsure.BREATHING,
    ),
    Asked(
        "demeanour",
        _("How is the behaviour of %(patient)s?"),
        _("Behaviour is often the first thing to change."),
        (
            ("bright", _("Bright and interested, as usual")),
            ("quiet", _("A bit quieter than usual")),
            ("dull", _("Dull: takes little notice, hardly moves")),
            ("collapsed", _("Lies flat, or cannot be woken")),
        ),
        Unsure.DEMEANOUR,
    ),
    Asked(
        "appetite",
        _("Has %(patient)s eaten anything since %(since)s?"),
        GUT,
        (
            ("normal", _("Yes, as much as usual")),
            ("less", _("Yes, but less than usual")),
            ("a_few_bites", _("Only a few bites")),
            ("none", _("Nothing")),
        ),
        Unsure.APPETITE,
        why_others=EATS,
    ),
    Asked(
        "last_ate_at",
        _("When did you last see %(patient)s eat, or find food gone?"),
        _("The hours without food decide how soon a vet must look."),
        kind=Kind.WHEN,
    ),
    Asked(
        "faeces",
        _("Has %(patient)s left droppings since %(since)s?"),
        GUT,
        (
            ("normal", _("Yes, as usual")),
            ("fewer", _("Yes, but fewer or smaller")),
            ("soft", _("Soft, or not their usual shape")),
            ("night_droppings_left", _("Soft, shiny clumps left lying")),
            ("diarrhoea", _("Runny or watery")),
            ("none", _("None that I could find")),
        ),
        Unsure.FAECES,
        only=(("night_droppings_left", frozenset({Species.RABBIT})),),
        why_others=GOES,
    ),
    Asked(
        "last_faeces_at",
        _("When did you last find fresh droppings from %(patient)s?"),
        _("The hours without droppings show whether the gut is moving."),
        kind=Kind.WHEN,
    ),
    Asked(
        "urine",
        _("Has %(patient)s passed urine since %(since)s?"),
        _("An animal that cannot pass urine needs a vet the same day."),
        (
            ("normal", _("Yes, as usual")),
            ("little", _("Only a little")),
            ("straining", _("Tries, but little or nothing comes")),
            ("bloody", _("Yes, but it is red")),
            ("none", _("None that I could find")),
        ),
        Unsure.URINE,
    ),
    Asked(
        "last_urine_at",
        _("When did you last find fresh urine from %(patient)s?"),
        _("The hours without urine decide how soon a vet must look."),
        kind=Kind.WHEN,
    ),
    Asked(
        "belly",
        _("How does the belly of %(patient)s feel, under a flat hand?"),
        _("A tight belly can be gas that cannot get out."),
        (
            ("soft", _("Soft")),
            ("swollen", _("Bigger than usual, but gives way")),
            ("tight_or_drum", _("Tight, like a drum")),
            ("not_checked", COULD_NOT_CHECK),
        ),
    ),
    Asked(
        "warmth",
        _("Feel the ears and feet of %(patient)s. How warm?"),
        _("Animals can get cold after an operation, small ones fast."),
        (
            ("warm", _("Warm, as usual")),
            ("cool_ears_feet", _("Ears and feet are cool, the body is warm")),
            ("cold_all_over", _("Cold all over")),
            ("not_checked", COULD_NOT_CHECK),
        ),
    ),
)

_LATER = (
    Asked(
        "pain_signs",
        _("Do you see any of these in %(patient)s? Tick all that you see."),
        COMFORT,
        (
            ("hunched", _("Sits hunched up")),
            ("tooth_grinding", _("Grinds the teeth")),
            ("belly_pressing", _("Presses the belly to the floor, or stretches out often")),
            ("reluctant_to_move", _("Does not want to move")),
            ("hiding", _("Hides more than usual")),
            ("vocalising", _("Cries, squeals or growls")),
            ("half_closed_eyes", _("Eyes half closed")),
            ("fluffed_coat", _("Coat fluffed up")),
            ("guards_wound", _("Will not let you near the wound")),
            ("trembling", _("Trembles")),
            ("aggressive_when_touched", _("Bites or strikes when touched, unlike before")),
        ),
        kind=Kind.SEVERAL,
    ),
    Asked(
        "drinking",
        _("How much does %(patient)s drink?"),
        _("Some medicines are hard on the kidneys when an animal does not drink."),
        (
            ("normal", AS_USUAL),
            ("less", _("Less than usual")),
            ("none", _("I have not seen any drinking")),
            ("more", _("More than usual")),
        ),
        Unsure.DRINKING,
    ),
    Asked(
        "weight_g",
        _("What does %(patient)s weigh, in grams?"),
        _("Weight shows trouble before you can see it. 1 kg is 1000 g."),
        unsure=Unsure.WEIGHT,
        kind=Kind.WEIGHT,
    ),
    Asked(
        "mouth",
        _("How is the mouth of %(patient)s?"),
        _("A sore mouth stops an animal from eating."),
        (
            ("normal", AS_USUAL),
            ("wet_chin", _("The chin is wet")),
            ("drops_food", _("Takes food, but drops it")),
            ("bleeding", _("It bleeds")),
        ),
    ),
    Asked(
        "balance",
        _("How does %(patient)s move and hold the head?"),
        _("Trouble with balance needs a vet."),
        (
            ("normal", AS_USUAL),
            ("wobbly", _("Wobbly")),
            ("head_tilt", _("Holds the head to one side")),
            ("hind_legs_weak", _("The back legs are weak")),
            ("rolling", _("Falls or rolls over")),
        ),
    ),
    Asked(
        "rear_end",
        _("Look under the tail of %(patient)s. What do you see?"),
        _("Flies lay eggs in soiled fur, and maggots work within hours."),
        (
            ("clean", _("Clean and dry")),
            ("wet_or_soiled", _("Wet or soiled")),
            ("sore", _("Sore")),
            ("maggots_or_eggs", _("Maggots, or fly eggs like grains of rice")),
        ),
    ),
    Asked(
        "gums",
        _("Lift the lip of %(patient)s. What colour are the gums?"),
        _("Pale or blue gums can mean that blood or air is missing."),
        (
            ("pink", _("Pink, as usual")),
            ("pale", _("Pale or white")),
            ("blue", _("Blue or grey")),
            ("not_checked", COULD_NOT_CHECK),
        ),
        Unsure.GUMS,
    ),
    Asked(
        "vomits_since_last",
        _("How often has %(patient)s vomited since %(since)s?"),
        _("Vomiting can come from a medicine, or from the gut."),
        (("0", _("Not at all")), ("1", _("Once")), ("2", _("Twice")), ("3", _("Three times or more"))),
    ),
    Asked(
        "seizure",
        _("Has %(patient)s had a fit: stiff or paddling, and not reacting to you?"),
        _("A fit cannot wait."),
        ((NO, _("No")), (YES, _("Yes"))),
    ),
    Asked(
        "worried",
        _("How worried are you about %(patient)s?"),
        _("You know your animal best. Your worry counts."),
        (("no", _("Not worried")), ("a_little", _("A little worried")), ("very", _("Very worried"))),
    ),
    Asked(
        "text",
        _("Is there anything else you want to tell us about %(patient)s?"),
        _("Your own words. A person at the practice reads them."),
        kind=Kind.WORDS,
    ),
)

BODY: tuple[Asked, ...] = _FIRST + _LATER
"""Everything but the wound."""
