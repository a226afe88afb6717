"""The pages of owners and carers, each in the states that people meet."""

from __future__ import annotations

import io

from PIL import Image
from playwright.sync_api import FilePayload, Page

from followup.domain.questions import QUESTIONS
from tests.browser.pages.clinic_site import EVENING, MONTH_ON, NIGHT, TOLD, ClinicSite
from tests.browser.pages.for_rota import AFTER_A_NIGHT
from tests.browser.pages.long_words import PATIENT
from tests.browser.pages.shown import NOBODY, Shown, choose, press
from tests.wounds import jpeg, wound

O = "followup:owner"  # noqa: E741 - the first letter of the name of every such page


def _home(patient: str, then: str = ""):
    return lambda site: f"{site.home(patient)}{then}"


def _about(patient: str, page: str, session: str, then: str = ""):
    return lambda site: f"{site.asking(patient, page, session)}{then}"


def _one(patient: str, page: str):
    return lambda site: f"{site.home(patient)}{page}/{site.plan(patient).pk}/"


def _dose(patient: str):
    def path(site: ClinicSite) -> str:
        plan = site.plan(patient)
        return f"{site.home(patient)}dose/{plan.pk}/{plan.doses.exclude(state='cancelled').earliest('at').pk}/"

    return path


def _dose_to_come(patient: str):
    def path(site: ClinicSite) -> str:
        plan = site.plan(patient)
        waiting = plan.doses.filter(state="planned", drug="metoclopramide").order_by("at")
        return f"{site.home(patient)}dose/{plan.pk}/{waiting[0].pk}/"

    return path


def _unfold(page: Page) -> None:
    page.evaluate("for (const folded of document.querySelectorAll('main details')) folded.open = true")


def _went_wrong(value: str):
    def does(page: Page) -> None:
        _unfold(page)
        choose(value, "Send")(page)

    return does


def _file(name: str, content: bytes):
    def does(page: Page) -> None:
        page.set_input_files("#photo", {"name": name, "mimeType": "image/jpeg", "buffer": content})
        page.locator("main button").click()
        page.get_by_role("alert").wait_for()

    return does


def _add_helper(page: Page) -> None:
    """Each time the same one, who counts once."""
    page.get_by_label("This person knows").check()
    press("Add", name="Rowan Example", email="rowan@example.org")(page)


def _photos(page: Page) -> None:
    """One that shows the wound, and one in which nothing can be seen."""
    black = io.BytesIO()
    Image.new("RGB", (640, 480)).save(black, "JPEG")
    files = [(f"{place}.jpg", data) for place, data in enumerate((jpeg(wound()), black.getvalue()))]
    page.set_input_files("#photo", [FilePayload(name=name, mimeType="image/jpeg", buffer=data) for name, data in files])
    page.locator("main button").click()
    page.get_by_role("heading", name="arrived").wait_for()


def _part_once(page: Page) -> None:
    if page.locator("textarea").count():
        page.get_by_label("Mostly").check()
        press("Send", words="The sheet was clear, the times were not.")(page)


def _tap_once(page: Page) -> None:
    """The page is opened for each width and colour; the tap counts once and its thanks stay."""
    if page.locator("textarea").count():
        press("Something is, or was, wrong with Clover", words="The scar is red.")(page)


def _wrong(site: ClinicSite) -> str:
    return site.home("Bramble")[:-4] + "AAA/"


def _asked(key: str) -> Shown:
    return Shown(f"owner-ask-{key.replace('.', '-')}", "followup:owner_ask", NOBODY,
                 _about("Juniper", "ask", "pictures", f"?q={key}"))  # fmt: skip


def _all(round_: str, patient: str = "", then: str = ""):
    """A page of a round about Biscuit and Crumpet; of one of them, or the page at its end."""
    return lambda site: f"{site.home('Crumpet')}all/{round_}/{f'{site.plan(patient).pk}/' if patient else ''}{then}"


ASK, NOTE = "followup:owner_ask", "followup:owner_note"
DAY_30, HELPER, PATIENT_PAGE = "followup:owner_day_30", "followup:owner_helper", "followup:owner_patient"
PARTING = "followup:owner_parting"
FOR_OWNERS = (
    Shown("owner-emergency", O, NOBODY, _home("Bramble")),
    Shown("owner-nothing-due", O, NOBODY, _home("Juniper")),
    Shown("owner-two-animals", O, NOBODY, _home("Crumpet")),
    Shown("owner-two-due", O, NOBODY, _home("Crumpet"), at=EVENING),
    Shown("owner-all-ask", "followup:owner_all_ask", NOBODY, _all("new", "Biscuit"), at=EVENING),
    Shown("owner-all-ask-second", "followup:owner_all_ask", NOBODY, _all("new", "Crumpet"), at=EVENING),
    Shown("owner-all-nothing-chosen", "followup:owner_all_ask", NOBODY, _all("new", "Crumpet", "?q=pain_signs"),
          does=press("Continue"), status=422, at=EVENING),
    Shown("owner-all-told", "followup:owner_all_told", NOBODY, _all("told", "Crumpet", "done/"), at=TOLD),
    Shown("owner-all-done", "followup:owner_all_done", NOBODY, _all("told", then="done/"), at=TOLD),
    Shown("owner-paused", O, NOBODY, _home("Hazel")),
    Shown("owner-died", O, NOBODY, _home("Nutmeg")),
    Shown("owner-waits-for-vet", O, NOBODY, _home("Thimble")),
    Shown("owner-long-names", O, NOBODY, _home(PATIENT)),
    Shown("owner-signed-off", O, NOBODY, _home("Clover"), at=NIGHT),
    Shown("owner-at-night", O, NOBODY, _home("Pepper"), at=NIGHT),
    Shown("owner-wrong-link", O, NOBODY, _wrong, status=404),
    Shown("owner-no-such-practice", O, NOBODY, lambda _site: "/o/nowhere/AAAA/", status=404),
    *(_asked(key) for key in QUESTIONS),
    Shown("owner-ask-begun", ASK, NOBODY, _about("Crumpet", "ask", "begun")),
    Shown("owner-ask-nothing-chosen", ASK, NOBODY, _about("Pepper", "ask", "none", "?q=pain_signs"),
          does=press("Continue"), status=422),
    Shown("owner-ask-odd-weight", ASK, NOBODY, _about("Pepper", "ask", "none", "?q=weight_g"),
          does=press("Continue", typed="90000"), status=422),
    Shown("owner-ask-long-names", ASK, NOBODY, _about(PATIENT, "ask", "none", "?q=demeanour")),
    Shown("owner-ask-at-night", ASK, NOBODY, _about("Pepper", "ask", "none", "?q=last_ate_at"), at=NIGHT),
    Shown("owner-done-well", "followup:owner_done", NOBODY, _about("Biscuit", "done", "told-Biscuit")),
    Shown("owner-done-not-weighed", "followup:owner_done", NOBODY, _about("Quince", "done", "told-Quince")),
    Shown("owner-done-emergency", "followup:owner_done", NOBODY, _about("Pickle", "done", "told-Pickle")),
    Shown("owner-done-emergency-at-night", "followup:owner_done", NOBODY, _about("Pickle", "done", "told-Pickle"),
          at=NIGHT),
    Shown("owner-done-long-names", "followup:owner_done", NOBODY, _about(PATIENT, "done", "told")),
    Shown("owner-photo", "followup:owner_photo", NOBODY, _about("Biscuit", "photo", "told-Biscuit")),
    Shown("owner-photo-none-chosen", "followup:owner_photo", NOBODY, _about("Biscuit", "photo", "told-Biscuit"),
          does=press("Send the photo"), status=422),
    Shown("owner-photo-unreadable", "followup:owner_photo", NOBODY, _about("Biscuit", "photo", "told-Biscuit"),
          does=_file("wound.jpg", b"no picture at all")),
    Shown("owner-dose", "followup:owner_dose", NOBODY, _dose("Juniper")),
    Shown("owner-dose-held", "followup:owner_dose", NOBODY, _dose("Bramble")),
    Shown("owner-dose-nothing-chosen", "followup:owner_dose", NOBODY, _dose("Juniper"), does=press("Send"),
          status=422),
    Shown("owner-dose-unfolded", "followup:owner_dose", NOBODY, _dose("Biscuit"), does=_unfold),
    Shown("owner-dose-went-wrong", "followup:owner_dose", NOBODY, _dose("Crumpet"), does=_went_wrong("into_the_lungs")),
    Shown("owner-dose-spat-out", "followup:owner_dose", NOBODY, _dose("Crumpet"), does=choose("spat_out", "Send")),
    Shown("owner-dose-forgotten", "followup:owner_dose", NOBODY, _dose_to_come("Biscuit"),
          does=choose("missed", "Send")),
    Shown("owner-for-a-vet", "followup:owner_for_a_vet", NOBODY, _one("Bramble", "for-a-vet")),
    Shown("owner-for-a-vet-on-track", "followup:owner_for_a_vet", NOBODY, _one("Biscuit", "for-a-vet")),
    Shown("owner-for-a-vet-long-names", "followup:owner_for_a_vet", NOBODY, _one(PATIENT, "for-a-vet")),
    Shown("owner-weight", "followup:owner_weight", NOBODY, _one("Juniper", "weight")),
    Shown("owner-weight-odd", "followup:owner_weight", NOBODY, _one("Juniper", "weight"),
          does=press("Send", typed="1"), status=422),
    Shown("owner-patient", PATIENT_PAGE, NOBODY, _one("Biscuit", "patient")),
    Shown("owner-patient-unfolded", PATIENT_PAGE, NOBODY, _one("Juniper", "patient"), does=_unfold),
    Shown("owner-patient-emergency", PATIENT_PAGE, NOBODY, _one("Bramble", "patient")),
    Shown("owner-patient-long-names", PATIENT_PAGE, NOBODY, _one(PATIENT, "patient")),
    Shown("owner-patient-at-night", PATIENT_PAGE, NOBODY, _one("Pepper", "patient"), at=NIGHT),
    Shown("owner-helper", HELPER, NOBODY, _one("Juniper", "helper")),
    Shown("owner-helper-half-named", HELPER, NOBODY, _one("Juniper", "helper"), does=press("Add", name="Rowan"),
          status=422),
    Shown("owner-helper-added", HELPER, NOBODY, _one("Pepper", "helper"), does=_add_helper),
    Shown("owner-not-me", "followup:owner_not_me", NOBODY, _home("Juniper", "not-me/")),
    Shown("owner-no-net", "followup:owner_no_net", NOBODY, lambda _site: "/o/quillbrook/no-net/"),
    Shown("owner-photo-arrived", "followup:owner_photo", NOBODY, _about("Crumpet", "photo", "told-Crumpet"),
          does=_photos),
    Shown("owner-stop", "followup:owner_stop", NOBODY, _home("Crumpet", "stop/")),
    Shown("owner-stopped", "followup:owner_stop", NOBODY, _home(PATIENT, "stop/")),
    Shown("owner-due-stopped", O, NOBODY, _home(PATIENT)),
    Shown("owner-note", NOTE, NOBODY, _home("Crumpet", "note/")),
    Shown("owner-note-nothing-typed", NOTE, NOBODY, _home("Crumpet", "note/"), does=press("Send")),
    Shown("owner-note-sent", NOTE, NOBODY, _home("Crumpet", "note/"), does=press("Send", words="He likes his hay.")),
    Shown("owner-has-died", "followup:owner_died", NOBODY, _one("Juniper", "died")),
    Shown("owner-sorry", "followup:owner_died", NOBODY, _one("Nutmeg", "died")),
    Shown("owner-parting-nothing-chosen", PARTING, NOBODY, _one("Clover", "parting"), does=press("Send"), at=NIGHT,
          status=422),
    Shown("owner-parting", PARTING, NOBODY, _one("Clover", "parting"), at=NIGHT, does=_part_once),
    Shown("owner-day-30-asked", O, NOBODY, _home("Clover"), at=MONTH_ON),
    Shown("owner-day-30", DAY_30, NOBODY, _one("Clover", "day-30"), at=MONTH_ON),
    Shown("owner-day-30-not-well", DAY_30, NOBODY, _one("Clover", "day-30"), at=MONTH_ON,
          does=_tap_once),
    Shown("owner-gone", "followup:owner_weight", NOBODY, _one("Nutmeg", "weight"), status=404),
    Shown("owner-nothing-there", "", NOBODY, _home("Bramble", "no-such-page/"), status=404),
    Shown("owner-page-broken", O, NOBODY, _home("Bramble"), status=500, breaks="followup.views.owner.everything_due"),
    *AFTER_A_NIGHT,
)  # fmt: skip
