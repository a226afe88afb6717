"""The enrolment page as a front desk fills it in, and as it comes back."""

from __future__ import annotations

import re

from django.test import Client

from clinic.models import Role
from tests import world
from tests.forms.typed import typed

ADDRESS = "/enrol/"


def filled(**changes) -> dict[str, object]:
    """A new owner with a guinea pig, castrated this morning; `op__weight_g="0.9"` types something else there."""
    return typed(key="one form", owner="", action="preview", owner__email="kim@example.org") | {
        name.replace("__", "-"): value for name, value in changes.items()
    }


def client(role: Role = Role.FRONT_DESK, where=None) -> Client:
    """Somebody of the practice, logged in."""
    found = Client()
    found.force_login(world.staff(where or world.practice(), role))
    return found


def post(**changes):
    """The page's answer to a filled-in form."""
    return client().post(ADDRESS, filled(**changes))


def at_field(page, name: str) -> list[str]:
    """What the page says at one field, by the field's name."""
    html = page.content.decode()
    found = re.search(rf'<ul class="errorlist" id="id_{name}_error">(.*?)</ul>', html, re.S)
    return re.findall(r"<li>(.*?)</li>", found[1]) if found else []


def values(page) -> dict[str, str]:
    """The values of every text box and hidden field on the page."""
    html = page.content.decode()
    boxes = re.findall(r"<input[^>]*>", html)
    named = ((re.search(r' name="([^"]+)"', box), re.search(r' value="([^"]*)"', box)) for box in boxes)
    return {name[1]: value[1] for name, value in named if name and value}
