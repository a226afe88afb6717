"""Finding a patient again, in the states that staff meet."""

from __future__ import annotations

from tests.browser.pages.shown import DESK, EMPTY, LONG, NURSE, VET, Shown

PATIENTS = "followup:patients"


def _asked(words: str = ""):
    return lambda _site: f"/patients/{words}"


FINDING = (
    Shown("patients", PATIENTS, DESK, _asked()),
    Shown("patients-narrowed", PATIENTS, VET, _asked("?words=b&species=rabbit")),
    Shown("patients-nobody-fits", PATIENTS, NURSE, _asked("?words=zebra&since=2026-12-01&until=2026-11-01")),
    Shown("patients-none", PATIENTS, EMPTY, _asked()),
    Shown("patients-long-names", PATIENTS, LONG, _asked()),
)
