"""What owners are asked about the wound and around it, in plain words. See question_words."""

from __future__ import annotations

from followup.domain.answers import NO, YES, Unsure
from followup.domain.question_words import HEALING, Asked, gettext_noop

GLANCE = "wound"
"""The one question about the whole wound; "worse" opens the others."""
AS_BEFORE, WORSE = "as_before_or_better", "worse"
_ = gettext_noop
NORMAL = gettext_noop("Nothing to see")

WOUND: tuple[Asked, ...] = (
    Asked(
        GLANCE,
        _("Look at the wound of %(patient)s. How is it?"),
        HEALING,
        ((AS_BEFORE, _("As before, or better")), (WORSE, _("Worse, or I do not like the look of it"))),
        Unsure.WOUND,
    ),
    Asked(
        "wound.edges",
        _("Are the edges of the wound together?"),
        HEALING,
        (
            ("closed", _("Yes, closed")),
            ("slightly_open", _("A small gap")),
            ("gaping", _("Wide open")),
            ("tissue_showing", _("Something from inside is showing or hanging out")),
        ),
        Unsure.WOUND,
    ),
    Asked(
        "wound.bleeding",
        _("Does the wound bleed?"),
        HEALING,
        (
            ("none", _("No")),
            ("spots", _("A few spots of blood")),
            ("steady_drip", _("Yes, it drips and does not stop")),
        ),
        Unsure.WOUND,
    ),
    Asked(
        "wound.swelling",
        _("Is the wound swollen?"),
        HEALING,
        (
            ("none", _("No")),
            ("mild", _("A little, or a firm ridge along the stitches")),
            ("marked", _("A lot")),
            ("growing", _("It is bigger than yesterday")),
            ("soft_bulge", _("A soft lump, which may go in and out")),
        ),
        Unsure.WOUND,
    ),
    Asked(
        "wound.discharge",
        _("Is the wound wet or weepy?"),
        HEALING,
        (
            ("none", _("No, it is dry")),
            ("clear", _("Wet, with clear fluid")),
            ("blood_tinged", _("Wet, with pink fluid")),
            ("pus", _("Thick yellow, green or white fluid")),
        ),
        Unsure.WOUND,
    ),
    Asked(
        "wound.smell",
        _("Does the wound itself smell bad?"),
        HEALING,
        ((NO, _("No")), (YES, _("Yes"))),
        Unsure.WOUND,
    ),
    Asked(
        "wound.redness",
        _("Is the skin around the wound red?"),
        HEALING,
        (
            ("none", _("No")),
            ("mild", _("A little, close to the wound")),
            ("marked", _("Very red")),
            ("spreading", _("Red, and spreading away from the wound")),
        ),
        Unsure.WOUND,
    ),
    Asked(
        "wound.interference",
        _("Is %(patient)s licking, chewing or scratching the wound?"),
        HEALING,
        (("none", _("No")), ("some", _("Sometimes")), ("constant", _("All the time"))),
        Unsure.WOUND,
    ),
    Asked(
        "scrotum_or_groin",
        _("Look at the pouch and the groin of %(patient)s. What do you see?"),
        _("A flat empty pouch is normal. A lump that goes in and out is not: it can be gut."),
        (
            ("normal", NORMAL),
            ("mild_swelling", _("A little swollen")),
            ("marked_swelling", _("Very swollen")),
            ("soft_bulge", _("A soft lump, which may go in and out")),
        ),
    ),
    Asked(
        "vulva",
        _("Look under the tail, at the opening in front. What do you see?"),
        _("After a spay there may be a few spots, but no bleeding."),
        (
            ("normal", NORMAL),
            ("spots", _("A few spots of blood")),
            ("bleeding", _("It bleeds")),
            ("pus", _("Thick yellow, green or white fluid")),
        ),
    ),
    Asked(
        "stitches",
        _("Are all the stitches there?"),
        HEALING,
        (
            ("all_there", _("Yes")),
            ("some_missing", _("Some are missing")),
            ("cannot_tell", _("I cannot tell")),
            ("none_to_see", _("There are none to see")),
        ),
        Unsure.STITCHES,
    ),
    Asked(
        "collar",
        _("How is the collar?"),
        _("A collar that stops an animal from eating does more harm than good."),
        (
            ("none", _("There is none")),
            ("on", _("On, and no trouble")),
            ("rubbing", _("It rubs")),
            ("off_by_itself", _("It came off")),
            ("cannot_eat_or_drink", _("%(patient)s cannot eat or drink with it")),
        ),
    ),
    Asked(
        "company",
        _("How is %(patient)s with the others?"),
        _("Friends help an animal to recover, unless they fight or lick the wound."),
        (
            ("as_planned", _("All is well")),
            ("fighting", _("They fight")),
            ("licks_wound", _("A friend licks the wound")),
            ("alone_and_calling", _("Alone, and calling")),
        ),
    ),
    Asked(
        "contact_with_females",
        _("Has %(patient)s been with a female that is not spayed?"),
        _("Males can still father young for some weeks."),
        ((NO, _("No")), (YES, _("Yes"))),
    ),
)
