"""The sheet that goes home, and the page for an emergency vet, as PDF on A4."""

from __future__ import annotations

from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, ngettext, override
from fpdf.fonts import FontFace

from followup.services.calendar import Box, CalendarDay
from followup.services.emergency_sheet import EmergencySheet
from followup.services.pdf_page import BIG, BODY, FAMILY, INNER, MARGIN, SMALL, TITLE, WIDTH, Paper
from followup.services.sheet import Sheet, SheetMedicine
from followup.services.texts import after_a_name

QR_SIDE = 30
BOX = "\u2610"
HELD = gettext_noop("Phone us before you give any more of it: a vet decides how it goes on.")
NONE_LEFT = gettext_noop("No dose is left: give no more of it.")
HEAD = FontFace(emphasis="BOLD")


def sheet_pdf(sheet: Sheet, emergency: EmergencySheet) -> bytes:
    """The whole: what to do, the calendar, and the page for an emergency vet. In the language that is active."""
    words = {"patient": sheet.patient, "number": sheet.version, "when": sheet.printed}
    paper = Paper(_("%(patient)s, version %(number)d of the plan, printed %(when)s") % words)
    paper.add_page()
    _top(paper, sheet)
    _flags(paper, sheet)
    for medicine in sheet.medicines:
        _medicine(paper, medicine, sheet)
    _care(paper, sheet)
    _link(paper, sheet)
    paper.say(sheet.disclaimer, size=SMALL)
    paper.add_page()
    _calendar(paper, sheet.calendar)
    paper.add_page()
    _emergency(paper, emergency)
    paper.say_what_is_missing()
    return paper.finished()


def emergency_pdf(emergency: EmergencySheet) -> bytes:
    """The page for an emergency vet alone: to keep on a phone, and to open without a net."""
    paper = Paper(f"{emergency.patient}, printed {emergency.printed}")
    paper.add_page()
    _emergency(paper, emergency)
    with override("en"):
        paper.say_what_is_missing()
    return paper.finished()


def _top(paper: Paper, sheet: Sheet) -> None:
    paper.say(_("Looking after %(patient)s") % {"patient": sheet.patient}, size=TITLE, bold=True)
    done = _("%(species)s, %(weight)s. %(procedure)s, finished %(operated)s. Home %(home)s.")
    paper.say(done % {
        "species": sheet.species.capitalize(), "weight": sheet.weight, "procedure": sheet.procedure.capitalize(),
        "operated": sheet.operated, "home": sheet.home,
    })  # fmt: skip
    for each in sheet.given:
        paper.say(_("Given in the clinic: %(what)s") % {"what": each})
    paper.heading(_("Worried? Do not wait for us to ask. Phone."))
    phone = after_a_name(sheet.practice.name, sheet.practice_phone)
    paper.say(f"{sheet.practice.name}: {phone}", size=TITLE, bold=True)
    if sheet.provider is None:
        paper.say(_("When we are closed: ask us for the number before you leave."), bold=True)
        return
    paper.say(_("When we are closed, %(name)s:") % {"name": sheet.provider.name})
    second = _(" (or %(phone)s)") % {"phone": sheet.second_phone} if sheet.second_phone else ""
    paper.say(f"{sheet.provider_phone}{second}", size=TITLE, bold=True)
    paper.say(sheet.provider.address)


def _flags(paper: Paper, sheet: Sheet) -> None:
    paper.heading(_("Phone at once, day or night, when you see:"))
    paper.bullets(sheet.red_flags)


def _medicine(paper: Paper, medicine: SheetMedicine, sheet: Sheet) -> None:
    words = medicine.words
    paper.heading(words.drug)
    if not medicine.left:
        paper.say(_(HELD if medicine.held else NONE_LEFT), bold=True)
        return
    if words.strength:
        paper.boxed(_("The bottle must say: %(strength)s") % {"strength": words.strength})
    for each in medicine.left:
        paper.say(each.amount, size=BIG, bold=True)
        paper.say(each.many or " \u00b7 ".join(f"{BOX} {when}" for when in each.times))
    for drawn in medicine.syringes:
        if drawn.full:
            full = ngettext(
                "First one whole %(size)s syringe, and then:",
                "First %(number)d times the whole %(size)s syringe, and then:",
                drawn.full,
            )
            paper.say(full % {"number": drawn.full, "size": drawn.size})
        paper.syringe(drawn)
    how = _("%(how)s. Prescribed by %(who)s.") % {"how": words.how.capitalize(), "who": sheet.prescribed_by}
    measure = _(" Measure with an oral syringe of %(size)s.") % {"size": words.syringe} if words.syringe else ""
    paper.say(how + measure)
    paper.say(_(
        "Another strength on the bottle? Do not give it, phone. Not eating, or anything odd? Phone before you give it. "
        "Never give a double dose. Give no other painkiller."
    ))  # fmt: skip


def _care(paper: Paper, sheet: Sheet) -> None:
    paper.heading(_("Feeding"))
    paper.bullets(sheet.feeding)
    paper.heading(_("Wound and rest"))
    until = _("%(what)s: until %(day)s")
    paper.bullets([*sheet.wound, *(until % {"what": each.what, "day": each.when} for each in sheet.words.restrictions)])


def _link(paper: Paper, sheet: Sheet) -> None:
    """The code beside what to do with it."""
    if paper.will_page_break(QR_SIDE + 4):
        paper.add_page()
    paper.heading(_("Tell us how it goes"))
    top = paper.get_y()
    paper.qr(sheet.link, x=WIDTH - MARGIN - QR_SIDE, y=top, side=QR_SIDE)
    paper.set_right_margin(MARGIN + QR_SIDE + 4)
    text = INNER - QR_SIDE - 4
    for said, bold in (
        (_("If no message comes, look anyway: has your animal eaten, are there droppings, how is the wound?"), True),
        (_("We write to you when it is time to look. Your page, at any hour:"), False),
        (sheet.link, False),
    ):
        paper.set_font(FAMILY, "B" if bold else "", BODY)
        paper.multi_cell(text, BODY * 0.47, paper.shown(said), align="L", new_x="LMARGIN", new_y="NEXT")
    paper.set_right_margin(MARGIN)
    paper.set_y(max(paper.get_y(), top + QR_SIDE + 2))


def _calendar(paper: Paper, days: tuple[CalendarDay, ...]) -> None:
    paper.say(_("Day by day, to tick off"), size=TITLE, bold=True)
    paper.ln(1)
    paper.set_font(FAMILY, "", SMALL + 0.5)
    heads = (_("Day"), _("Medicine"), _("Look: eaten? droppings? wound?"), _("Also"))
    with paper.table(
        col_widths=(17, 32, 21, 30), line_height=5.6, headings_style=HEAD, text_align="LEFT", v_align="TOP", padding=0.5
    ) as table:
        table.row([paper.shown(each) for each in heads])
        for day in days:
            cells = (f"{day.day}  {day.date}", _boxes(day.doses), _boxes(day.looks, plain=True), "\n".join(day.notes))
            table.row([paper.shown(each) for each in cells])


def _boxes(boxes: tuple[Box, ...], *, plain: bool = False) -> str:
    """Boxes to tick, one a line; what is told already has its word."""
    lines = [
        f"{each.when} {each.what}: {each.done}" if each.done else f"{BOX} {each.when}{'' if plain else f' {each.what}'}"
        for each in boxes
    ]
    return ("   " if plain else "\n").join(lines)


def _emergency(paper: Paper, sheet: EmergencySheet) -> None:
    paper.say(f"For a vet who has not met {sheet.patient}", size=TITLE, bold=True)
    paper.say(f"{capfirst(sheet.who)}. Cautions: {sheet.cautions}.")
    paper.say(f"{capfirst(sheet.done)}.", bold=True)
    paper.say(capfirst("; ".join(f"{name}: {value}" for name, value in sheet.card)) + ".")
    paper.heading("As it stands")
    paper.say(f"Level by the answers so far: {sheet.level}. Nobody has examined the animal for this.")
    paper.bullets(
        [
            *sheet.why,
            *(capfirst(f"{name}: {value}") for name, value in sheet.signs),
            f"Weights: {'; '.join(sheet.weights)}",
        ]
    )
    paper.heading("Next NSAID")
    for each in sheet.next_nsaid:
        paper.say(each, bold=True)
    paper.heading("Every drug, dose and time")
    paper.set_font(FAMILY, "", SMALL + 0.5)
    with paper.table(
        col_widths=(16, 15, 32, 13, 24), line_height=4.6, headings_style=HEAD, text_align="LEFT", v_align="TOP"
    ) as table:
        table.row(["When", "Drug", "Dose", "Where", "Known"])
        for dose in sheet.given:
            table.row([paper.shown(text) for text in (dose.when, dose.what, dose.amount, dose.where, dose.known)])
    paper.heading("Our numbers")
    phone = after_a_name(sheet.practice, sheet.practice_phone)
    paper.say(f"{sheet.practice}: {phone}", size=BODY + 2, bold=True)
    paper.say(sheet.practice_address)
    if sheet.provider:
        paper.say(f"When we are closed, {sheet.provider}")
    paper.say(f"Owner: {sheet.owner}")
    paper.say(f"Times are those of {sheet.clock}. Made {sheet.printed}, version {sheet.version} of the plan. "
               "It does not replace an examination; the vet in charge decides.", size=SMALL)  # fmt: skip
