"""The pages of staff, each in the states that people meet."""

from __future__ import annotations

import datetime as dt

from playwright.sync_api import Page

from tests.browser.pages.clinic_site import NIGHT, ClinicSite
from tests.browser.pages.filling import fill_in
from tests.browser.pages.for_channels import CHANNELS
from tests.browser.pages.for_finding import FINDING
from tests.browser.pages.for_rota import ROTAS
from tests.browser.pages.for_sending import SENDING
from tests.browser.pages.for_texts import TEXTS
from tests.browser.pages.long_words import PATIENT
from tests.browser.pages.shown import (
    ADMINISTRATOR,
    DESK,
    EMPTY,
    LONG,
    NOBODY,
    NURSE,
    SECOND,
    VET,
    Shown,
    choose,
    press,
)  # fmt: skip
from tests.forms.typed import EMPTY_MEDICINE

M, P, ENROL, REVISE = "followup:morning", "followup:patient", "followup:enrol", "followup:revise"

NO_MEDICINE = dict.fromkeys(EMPTY_MEDICINE, "")
DAY_OLD = dt.timedelta(hours=25)


def _plan(patient: str, then: str = ""):
    return lambda site: f"/plans/{site.plan(patient).pk}/{then}"


def _flag(patient: str, then: str, **which: object):
    return lambda site: f"/flags/{site.flag(patient, **which).pk}/{then}/"


def _wound(patient: str, day: int):
    return lambda site: f"/reviews/{site.plan(patient).wound_reviews.get(day=day).pk}/"


def _task(**which: object):
    return lambda site: f"/tasks/{site.task(**which).pk}/done/"


def _letter(**which: object):
    return lambda site: f"/tray/{site.plan('Bramble').messages.filter(**which).earliest('pk').pk}/"


def _dose(patient: str, then: str = ""):
    return lambda site: f"/doses/{site.plan(patient).doses.exclude(state='cancelled').latest('at').pk}/{then}"


def _owner_hours(patient: str):
    return lambda site: f"/owners/{site.plan(patient).patient.owner_id}/hours/"


def _recipient(patient: str):
    return lambda site: f"/recipients/{site.plan(patient).practice.recipients.earliest('pk').pk}/messages/"


def _wants_none(page: Page) -> None:
    """Once: at the second width they are stopped already."""
    if page.locator('button[value="stop"]').count():
        page.locator('button[value="stop"]').click()


def _two_painkillers(page: Page) -> None:
    _unfold(page)
    typed = {"drug": "carprofen", "mg_per_kg": "4", "every_hours": "24", "days": "2", "mg_per_ml": "50"}
    press(
        "Look at the new plan",
        **{"why-because": "Still sore.", "new0-prescribed_by": "Dr Imke Farrant"},
        **{f"new0-{name}": value for name, value in typed.items()},
    )(page)


def _at(path: str):
    return lambda _site: path


def _alert(patient: str, **more):
    return lambda site: f"/a/{site.alert(patient, **more)}/"


def _photo(site: ClinicSite) -> str:
    return f"/photos/{site.plan('Juniper').photos.earliest('pk').pk}/"


def _unfold(page: Page) -> None:
    page.evaluate("for (const folded of document.querySelectorAll('main details')) folded.open = true")


def _empty_form(button: str):
    """What a browser without its own checks would send: the page must answer by itself."""

    def does(page: Page) -> None:
        page.evaluate("document.querySelector('main form:last-of-type').noValidate = true")
        page.get_by_role("button", name=button, exact=True).click()

    return does


def _all_but_the_level(page: Page) -> None:
    page.locator('[name="found"]').fill("A scab was licked off.")
    page.locator('[name="done"]').fill("Pressed on it for five minutes.")
    _empty_form("Close this flag")(page)


def _enrol(button: str = "Look at the plan", **changes: object):
    def does(page: Page) -> None:
        fill_in(page, **changes)
        page.get_by_role("button", name=button, exact=True).click()

    return does


def _what_if(page: Page) -> None:
    for name, value in {"demeanour": "dull", "appetite": "none", "worried": "very"}.items():
        page.locator(f'input[name="{name}"][value="{value}"]').check()
    page.get_by_role("button", name="What would this mean?").click()


def _no_cookie(page: Page) -> None:
    page.context.clear_cookies(name="csrftoken")
    page.get_by_role("button", name="Log in").click()


def _too_often(page: Page) -> None:
    while page.locator("#id_username").count():  # the page of whoever is locked out has no form
        with page.expect_navigation():  # else the form may be looked for between two pages
            press("Log in", username="nobody@example.org", password="not this one")(page)


ROUNDS = (
    Shown("morning-list", M, VET, _at("/")),
    Shown("morning-list-demo", M, VET, _at("/"), demo=True),
    Shown("morning-list-unfolded", M, VET, _at("/"), does=_unfold),
    Shown("morning-list-nurse", M, NURSE, _at("/")),
    Shown("morning-list-front-desk", M, DESK, _at("/")),
    Shown("morning-list-administrator", M, ADMINISTRATOR, _at("/")),
    Shown("morning-list-no-patient", M, EMPTY, _at("/")),
    Shown("morning-list-long-names", M, LONG, _at("/")),
    Shown("morning-list-at-night", M, VET, _at("/"), at=NIGHT),
    Shown("patient-emergency", P, VET, _plan("Bramble"), does=_unfold),
    Shown("patient-acknowledged", P, SECOND, _plan("Willow")),
    Shown("patient-on-track", P, VET, _plan("Biscuit"), does=_unfold),
    Shown("patient-photos", P, NURSE, _plan("Juniper"), does=_unfold),
    Shown("patient-waits-for-vet", P, DESK, _plan("Thimble")),
    Shown("patient-paused", P, VET, _plan("Hazel")),
    Shown("patient-died", P, VET, _plan("Nutmeg")),
    Shown("patient-long-names", P, LONG, _plan(PATIENT), does=_unfold),
    Shown("patient-silent-at-night", P, VET, _plan("Pepper"), at=NIGHT),
    Shown("patient-signed-off", P, VET, _plan("Clover"), at=NIGHT),
    Shown("by-phone", "followup:phone_answers", DESK, _plan("Pepper", "phone/")),
    Shown("by-phone-what-if", "followup:phone_answers", DESK, _plan("Pepper", "phone/"), does=_what_if, demo=True),
    Shown("by-phone-nothing", "followup:phone_answers", DESK, _plan("Pepper", "phone/"),
          does=press("Save the answers")),
    Shown("by-phone-not-running", "followup:phone_answers", DESK, _plan("Nutmeg", "phone/")),
    Shown("by-phone-long-names", "followup:phone_answers", LONG, _plan(PATIENT, "phone/")),
    Shown("sign-off", "followup:sign_off", VET, _plan("Clover", "sign-off/")),
    Shown("sign-off-nothing-chosen", "followup:sign_off", VET, _plan("Clover", "sign-off/"),
          does=_empty_form("Sign off"), status=422),
    Shown("sign-off-refused", "followup:sign_off", VET, _plan("Bramble", "sign-off/")),
    Shown("died", "followup:died", NURSE, _plan("Bramble", "died/")),
    Shown("died-on-record", "followup:died", NURSE, _plan("Nutmeg", "died/")),
    Shown("review-flag", "followup:review_flag", VET, _flag("Pepper", "review")),
    Shown("review-flag-emergency", "followup:review_flag", VET, _flag("Bramble", "review")),
    Shown("review-flag-nothing-typed", "followup:review_flag", VET, _flag("Pepper", "review"),
          does=_empty_form("Close this flag"), status=422),
    Shown("review-flag-level-not-chosen", "followup:review_flag", VET, _flag("Bramble", "review"),
          does=_all_but_the_level, status=422),
    Shown("review-flag-not-weighed", "followup:review_flag", NURSE, _flag("Quince", "review")),
    Shown("review-flag-over", "followup:review_flag", VET, _flag("Sorrel", "review", state="reviewed")),
    Shown("patient-not-weighed", P, VET, _plan("Quince"), does=_unfold),
    Shown("patient-reviewed", P, VET, _plan("Sorrel"), does=_unfold),
    Shown("by-phone-not-weighed", "followup:phone_answers", DESK, _plan("Quince", "phone/"), does=_what_if),
    Shown("agreement", "followup:agreement", VET, _at("/agreement/")),
    Shown("agreement-empty", "followup:agreement", EMPTY, _at("/agreement/?days=30")),
    Shown("review-flag-long-names", "followup:review_flag", LONG, _flag(PATIENT, "review")),
    Shown("wound-review", "followup:wound_review", VET, _wound("Juniper", 3), does=_unfold),
    Shown("wound-review-no-photo", "followup:wound_review", VET, _wound("Pepper", 3)),
    Shown("wound-review-done", "followup:wound_review", VET, _wound("Clover", 3)),
    Shown("wound-review-nothing-typed", "followup:wound_review", VET, _wound("Juniper", 3),
          does=_empty_form("The wound has been looked at"), status=422),
    Shown("task-words", "followup:task_done", DESK, _task(plan__patient__name="Crumpet", kind="read_words")),
    Shown("task-words-say-died", "followup:task_done", NURSE, _task(plan__patient__name="Hazel", kind="read_words")),
    Shown("task-nothing-typed", "followup:task_done", DESK, _task(plan__patient__name="Crumpet", kind="read_words"),
          does=_empty_form("Done"), status=422),
    Shown("task-long-names", "followup:task_done", LONG, _task(key="long")),
    Shown("photo", "followup:photo", VET, _photo, is_html=False),
    Shown("health", "followup:health", NOBODY, _at("/health"), is_html=False),
)  # fmt: skip

PLANS = (
    Shown("enrol", ENROL, DESK, _at("/enrol/")),
    Shown("enrol-found", ENROL, DESK, _at("/enrol/?q=Marsh")),
    Shown("enrol-not-found", ENROL, DESK, _at("/enrol/?q=Nobodyatall")),
    Shown("enrol-known-owner", ENROL, DESK, lambda site: f"/enrol/?owner={site.plan('Biscuit').patient.owner_id}"),
    Shown("enrol-nothing-typed", ENROL, DESK, _at("/enrol/"), does=press("Look at the plan"), status=422),
    Shown("enrol-faults", ENROL, DESK, _at("/enrol/"), status=422,
          does=_enrol(op__weight_g="9000", owner__mobile="12", home0__mg_per_kg="9")),
    Shown("enrol-preview", ENROL, DESK, _at("/enrol/"), does=_enrol()),
    Shown("enrol-preview-vet-must-confirm", ENROL, DESK, _at("/enrol/"),
          does=_enrol(medicines__home="propose", **NO_MEDICINE)),
    Shown("revise", REVISE, VET, _plan("Bramble", "revise/"), does=_unfold),
    Shown("revise-nothing-typed", REVISE, VET, _plan("Bramble", "revise/"), does=press("Look at the new plan"),
          status=422),
    Shown("revise-preview", REVISE, VET, _plan("Bramble", "revise/"),
          does=press("Look at the new plan", **{"why-because": "Heavier than before.", "why-weight_g": "2200"})),
    Shown("revise-preview-refused", REVISE, VET, _plan("Bramble", "revise/"), does=_two_painkillers),
    Shown("revise-long-names", REVISE, LONG, _plan(PATIENT, "revise/")),
    Shown("versions", "followup:versions", VET, _plan("Bramble", "versions/")),
    Shown("versions-only-one", "followup:versions", NURSE, _plan("Biscuit", "versions/")),
    Shown("admit", "followup:admit", DESK, _plan("Biscuit", "admit/")),
    Shown("admit-nothing-typed", "followup:admit", DESK, _plan("Biscuit", "admit/"),
          does=_empty_form("Stop messages: Biscuit is in a clinic"), status=422),
    Shown("home-again", "followup:home_again", VET, _plan("Willow", "home-again/"), does=_unfold),
    Shown("home-again-nothing-typed", "followup:home_again", VET, _plan("Willow", "home-again/"),
          does=press("Look at the new plan"), status=422),
    Shown("record-dose", "followup:record_dose", DESK, _dose("Juniper")),
    Shown("record-dose-nothing-chosen", "followup:record_dose", DESK, _dose("Juniper"), does=_empty_form("Save"),
          status=422),
    Shown("record-dose-told", "followup:record_dose", NURSE, _dose("Crumpet"), does=choose("spat_out", "Save")),
    Shown("release", "followup:release", VET, _dose("Bramble", "release/")),
    Shown("release-nothing-typed", "followup:release", VET, _dose("Bramble", "release/"),
          does=_empty_form("Let meloxicam go on"), status=422),
    Shown("owner-hours", "followup:owner_hours", DESK, _owner_hours("Biscuit")),
    Shown("recipient-messages", "followup:recipient_messages", DESK, _recipient("Biscuit")),
    Shown("recipient-messages-stopped", "followup:recipient_messages", LONG, _recipient(PATIENT), does=_wants_none),
    Shown("patient-messages-stopped", P, LONG, _plan(PATIENT), does=_unfold),
    Shown("owner-hours-faults", "followup:owner_hours", DESK, _owner_hours("Biscuit"),
          does=press("Save", **{"clock-time_zone": "Somewhere", "away0-starts": "09:00"}), status=422),
    Shown("sheet", "followup:sheet", DESK, _plan("Bramble", "sheet/")),
    Shown("sheet-waits-vet", "followup:sheet", VET, _plan("Thimble", "sheet/")),
    Shown("sheet-waits-front-desk", "followup:sheet", DESK, _plan("Thimble", "sheet/")),
    Shown("sheet-long-names", "followup:sheet", LONG, _plan(PATIENT, "sheet/")),
    Shown("tray", "followup:tray", DESK, _at("/tray/")),
    Shown("tray-empty", "followup:tray", EMPTY, _at("/tray/")),
    Shown("tray-last-page", "followup:tray", DESK, _at("/tray/?page=999")),
    Shown("tray-long-names", "followup:tray", LONG, _at("/tray/")),
    Shown("message-welcome", "followup:tray_message", DESK, _letter(purpose="welcome")),
    Shown("message-advice", "followup:tray_message", VET, _letter(purpose="advice")),
    Shown("message-alert", "followup:tray_message", VET, _letter(purpose="alert")),
)  # fmt: skip

ALERTS = (
    Shown("alert", "followup:alert", NOBODY, _alert("Bramble")),
    Shown("alert-acknowledged", "followup:alert", NOBODY, _alert("Pickle")),
    Shown(
        "alert-nothing-chosen", "followup:alert", NOBODY, _alert("Pickle"), does=_empty_form("Record it"), status=409
    ),
    Shown("alert-recorded", "followup:alert", NOBODY, _alert("Willow")),
    Shown("alert-long-names", "followup:alert", NOBODY, _alert(PATIENT)),
    Shown("alert-too-old", "followup:alert", NOBODY, _alert("Bramble", older_by=DAY_OLD), status=404),
    Shown("alert-at-night", "followup:alert", NOBODY, _alert("Bramble"), at=NIGHT),
    Shown("outcome", "followup:outcome", VET, _flag("Pickle", "outcome", worst=3)),
    Shown("outcome-urgent", "followup:outcome", VET, _flag("Quince", "outcome", worst=2)),
    Shown("outcome-not-acknowledged", "followup:outcome", NURSE, _flag("Bramble", "outcome")),
)

DOOR = (
    Shown("log-in", "clinic:log-in", NOBODY, _at("/log-in/")),
    Shown("log-in-wrong", "clinic:log-in", NOBODY, _at("/log-in/"),
          does=press("Log in", username="somebody@example.org", password="not this one")),
    Shown("log-in-locked-out", "clinic:log-in", NOBODY, _at("/log-in/"), does=_too_often, status=429),
    Shown("log-in-sent-here", "clinic:log-in", NOBODY, _plan("Bramble")),
    Shown("log-in-no-cookie", "clinic:log-in", NOBODY, _at("/log-in/"), does=_no_cookie, status=403),
    Shown("choose-practice", "clinic:choose-practice", SECOND, _at("/practice/")),
    Shown("choose-practice-only-one", "clinic:choose-practice", VET, _at("/practice/")),
    Shown("set-up", "clinic:set-up", NOBODY, lambda site: f"/welcome/{site.code}/"),
    Shown("set-up-too-short", "clinic:set-up", NOBODY, lambda site: f"/welcome/{site.code}/",
          does=press("Set the password", password="short", again="other"), status=400),
    Shown("set-up-spent", "clinic:set-up", NOBODY, _at("/welcome/used-long-ago/"), status=404),
    Shown("not-found", P, VET, _at("/plans/999999/"), status=404),
    Shown("not-found-anywhere", "", NOBODY, _at("/no-such-page/"), status=404),
    Shown("not-yours", "followup:sign_off", DESK, _plan("Bramble", "sign-off/"), status=403),
    Shown("broken", M, VET, _at("/"), status=500, breaks="followup.views.morning.morning_list"),
)  # fmt: skip

FOR_STAFF = (*DOOR, *FINDING, *ROUNDS, *PLANS, *TEXTS, *ALERTS, *CHANNELS, *SENDING, *ROTAS)
