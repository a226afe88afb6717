"""Every page of the program as somebody sees it: where it is, who opens it, and what he does there first."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.urls import reverse

from clinic.models import Role, Staff
from tests.browser.on_show import Show
from tests.world import at

if TYPE_CHECKING:
    from playwright.sync_api import Page

MORNING = at("07:40", day=3)


@dataclass(frozen=True)
class View:
    """One page in one state. `path` begins with "/"; `does` is done before it is looked at; `status` of the answer."""

    picture: str
    route: str
    path: str
    who: Staff | None = None
    at: dt.datetime = MORNING
    does: Callable[[Page], None] | None = None
    status: int = 200


NOT_PAGES = {
    "followup:health": "times for a watcher, no page for people",
    "followup:photo": "a picture; it is seen on the patient's page",
    "clinic:log-out": "answers a POST only",
    "followup:demo_clock": "answers a POST only",
    "followup:confirm": "answers a POST only",
    "followup:take_back": "answers a POST only",
    "followup:seen": "answers a POST only",
    "followup:go_on": "answers a POST only",
    "followup:acknowledge": "answers a POST only",
}
"""Addresses that no browser shows as a page, and why."""


def views(show: Show) -> list[View]:
    """Everything that there is to see."""
    return [*_door(show), *_staff(show), *_desk(show), *_forms(show), *_alerts(show), *_owner(show), *_errors(show)]


def press(name: str) -> Callable[[Page], None]:
    """Press a button of the page."""
    return lambda page: page.get_by_role("button", name=name).first.click()


def _door(show: Show) -> list[View]:
    return [
        View("log-in", "clinic:log-in", "/log-in/"),
        View("log-in, empty", "clinic:log-in", "/log-in/", does=press("Log in")),
        View("set-up", "clinic:set-up", f"/welcome/{show.invitation}/"),
        View("set-up, wrong", "clinic:set-up", f"/welcome/{'x' * 40}/", status=404),
        View("choose practice", "clinic:choose-practice", "/practice/", show.of_two),
    ]


def _staff(show: Show) -> list[View]:
    vet, plan = show.staff(Role.VET), show.plan
    return [
        View("morning", "followup:morning", "/", vet),
        View("morning, as a front desk", "followup:morning", "/", show.staff(Role.FRONT_DESK)),
        View("morning, at night", "followup:morning", "/", vet, at("03:00", day=3)),
        View("morning, empty", "followup:morning", "/", show.alone),
        View("patient", "followup:patient", reverse("followup:patient", args=[plan.pk]), vet),
        View("patient, closed", "followup:patient", reverse("followup:patient", args=[show.closed.pk]), vet),
        View("patient, long names", "followup:patient", reverse("followup:patient", args=[show.long.pk]), vet),
        View("patient, died", "followup:patient", reverse("followup:patient", args=[show.dead.pk]), vet),
        View("tray", "followup:tray", "/tray/", vet),
        View("tray, empty", "followup:tray", "/tray/", show.alone),
        View("message", "followup:tray_message", f"/tray/{show.message}/", vet),
    ]


def _desk(show: Show) -> list[View]:
    desk = show.staff(Role.FRONT_DESK)
    sheet = "followup:sheet"
    return [
        View("enrol", "followup:enrol", "/enrol/", desk),
        View("enrol, found", "followup:enrol", "/enrol/?q=Robin", desk),
        View("enrol, nobody found", "followup:enrol", "/enrol/?q=Nobody", desk),
        View("enrol, empty", "followup:enrol", "/enrol/", desk, does=press("Look at the plan")),
        View("enrol, the plan", "followup:enrol", "/enrol/", desk, does=show.fill_in),
        View("sheet", sheet, reverse(sheet, args=[show.plan.pk]), desk),
        View("sheet, long names", sheet, reverse(sheet, args=[show.long.pk]), desk),
    ]


def _forms(show: Show) -> list[View]:
    vet, plan = show.staff(Role.VET), show.plan
    flag, wound, task = show.flag.pk, plan.wound_reviews.get(day=3).pk, show.task

    def of(name: str, pk: int) -> tuple[str, str]:
        return f"followup:{name}", reverse(f"followup:{name}", args=[pk])

    return [
        View("phone answers", *of("phone_answers", plan.pk), vet),
        View("review", *of("review_flag", flag), vet),
        View("wound review", *of("wound_review", wound), vet),
        View("task", *of("task_done", task), vet),
        View("outcome", *of("outcome", flag), vet),
        View("sign off, not yet", *of("sign_off", plan.pk), vet),
        View("sign off", *of("sign_off", show.quiet.pk), vet, at("07:40", day=14)),
        View("died", *of("died", plan.pk), vet),
    ]


def _alerts(show: Show) -> list[View]:
    path = f"/a/{show.alert}/"
    return [
        View("alert", "followup:alert", path, at=at("20:20")),
        View("alert, too late", "followup:alert", path, at=at("20:20", day=4), status=404),
        View("alert, wrong", "followup:alert", f"/a/{'x' * 40}/", status=404),
    ]


def _owner(show: Show) -> list[View]:
    home, plan = show.home, show.plan.pk
    ask = f"{home}ask/{plan}/looking/"
    questions = [View(f"owner, {key}", "followup:owner_ask", f"{ask}?q={key}") for key in show.questions]
    return [
        View("owner", "followup:owner", home),
        View("owner, at night", "followup:owner", home, at=at("03:00", day=3)),
        View("owner, two animals", "followup:owner", show.home_of_two),
        View("owner, long names", "followup:owner", show.home_of_long),
        View("owner, signed off", "followup:owner", show.home_of_closed),
        *questions,
        View("owner, nothing chosen", "followup:owner_ask", f"{ask}?q=appetite", does=press("Continue"), status=200),
        *[View(f"owner, {level}", "followup:owner_done", path) for level, path in show.ends.items()],
        View("owner, photo", "followup:owner_photo", f"{home}photo/{plan}/looking/"),
        View("owner, dose", "followup:owner_dose", show.dose),
        View("owner, weight", "followup:owner_weight", f"{home}weight/{plan}/"),
        View("owner, note", "followup:owner_note", f"{home}note/"),
        View("owner, note, empty", "followup:owner_note", f"{home}note/", does=press("Send")),
        View("owner, died", "followup:owner_died", f"{home}died/{plan}/"),
        View("owner, died, said", "followup:owner_died", show.home_of_dead),
    ]


def _errors(show: Show) -> list[View]:
    vet = show.staff(Role.VET)
    return [
        View("not found", "followup:patient", "/plans/987654/", vet, status=404),
        View(
            "not allowed", "followup:sign_off", f"/plans/{show.plan.pk}/sign-off/", show.staff(Role.NURSE), status=403
        ),
        View("owner, not found", "followup:owner_dose", f"{show.home}dose/{show.plan.pk}/987654/", status=404),
        View("owner, wrong link", "followup:owner", "/o/elm-street/nobody/", status=404),
        View("owner, wrong practice", "followup:owner", "/o/nowhere/nobody/", status=404),
    ]
