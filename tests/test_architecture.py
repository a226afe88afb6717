"""The shape of the program. When one of these fails, it is the design that is in question."""

from __future__ import annotations

import ast
import io
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import call_command, get_commands
from django.shortcuts import resolve_url
from django.test import Client
from django.utils.module_loading import import_string

from tests.pages import PAGES

ROOT = Path(__file__).resolve().parent.parent
PACKAGES = ("clinic", "followup")
WRITES = {
    "save", "create", "update", "delete", "get_or_create", "update_or_create", "bulk_create",
    "bulk_update", "asave", "acreate", "aupdate", "adelete", "move", "execute", "executemany",
    "raw", "add", "remove", "clear", "set",
}  # fmt: skip
"""What a view never calls. The last four are those of related managers; see `harmless`."""
OPEN_TO_ALL = {
    "followup:alert",  # a signed link of one person, from an alert
    "followup:health",  # times only, for watchers outside

    "clinic:log-in",
    "clinic:set-up",  # the one-time code in the address is the authority
    # An owner's pages: the code in the address is the authority, and it is checked by each.
    "followup:owner", "followup:owner_all", "followup:owner_all_ask", "followup:owner_all_done",
    "followup:owner_all_told", "followup:owner_ask", "followup:owner_done", "followup:owner_photo",
    "followup:owner_dose", "followup:owner_weight", "followup:owner_note", "followup:owner_stop", "followup:owner_died",
    "followup:owner_for_a_vet", "followup:owner_for_a_vet_file", "followup:owner_day_30", "followup:owner_reached_vet",
    "followup:owner_patient", "followup:owner_sheet", "followup:owner_helper", "followup:owner_not_me",
    "followup:owner_parting",
    "followup:owner_no_net", "followup:owner_worker",  # a practice's numbers, and the script that keeps them on a phone
}  # fmt: skip
"""Every page that can be seen without logging in. Whoever adds one here says why, in the change."""


def modules(*under: str) -> Iterator[Path]:
    for name in under:
        place = ROOT / name
        found = [place] if place.suffix == ".py" else sorted(place.rglob("*.py"))
        yield from (path for path in found if path.exists() and "migrations" not in path.parts)


def tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def short(path: Path) -> str:
    return str(path.relative_to(ROOT))


def test_there_are_modules_to_look_at():
    assert len(list(modules(*PACKAGES))) > 20


def test_views_never_write():
    written = [
        f"{short(path)}:{node.lineno} .{node.func.attr}()"
        for path in modules("clinic/views", "followup/views")
        for node in ast.walk(tree(path))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)
        if node.func.attr in WRITES and not harmless(node.func)
    ]
    assert written == []


def harmless(call: ast.Attribute) -> bool:
    """Whether what changes is no record: a set, a dict, a session, a form."""
    names = {"form", "session", "messages", "context", "seen"}
    word = call.value.id if isinstance(call.value, ast.Name) else getattr(call.value, "attr", "")
    return word in names and call.attr in {"add", "remove", "clear", "set", "update"}


@pytest.mark.parametrize(
    ("line", "writes"),
    [
        ("flag.save()", True),
        ("Flag.objects.filter(pk=1).update(state='x')", True),
        ("plan.owners.add(owner)", True),
        ("context.update(title='x')", False),
        ("take_reply(check_in, now=now)", False),
    ],
)
def test_a_write_in_a_view_would_be_seen(line, writes):
    calls = [
        node.func
        for node in ast.walk(ast.parse(line))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)
    ]
    assert any(call.attr in WRITES and not harmless(call) for call in calls) is writes


def test_a_task_is_one_line():
    long = [
        node.name
        for path in modules("followup/tasks.py")
        for node in tree(path).body
        if isinstance(node, ast.FunctionDef)
        if ast.get_docstring(node) is None or len(node.body) != 2  # the sentence and the line
    ]
    assert long == []


def test_no_module_is_longer_than_300_lines():
    lengths = {short(p): len(p.read_text().splitlines()) for p in modules(*PACKAGES, "tests")}
    assert {name: lines for name, lines in lengths.items() if lines > 300} == {}


def test_only_the_clock_reads_the_clock():
    reading = re.compile(r"\b(datetime|dt|date|timezone)\.(now|utcnow|today|localtime)\(|\btime\.time\(")
    readers = {short(p) for p in modules(*PACKAGES) if reading.search(p.read_text())}
    assert readers == {"clinic/steady.py"}


def test_only_doors_ask_the_clock():
    doors = ("views", "management", "tasks.py", "checks.py", "clock.py")
    askers = [
        short(p)
        for p in modules(*PACKAGES)
        if re.search(
            r"^\s*(from clinic\.clock |from clinic import .*\bclock\b|import clinic\.clock\b)",
            p.read_text(),
            re.M,
        )
        if not set(doors) & set(p.relative_to(ROOT).parts)
    ]
    assert askers == []


def test_nothing_is_named_for_nothing():
    vague = {"utils", "helpers", "common", "base", "core", "managers", "misc", "signals"}
    signals = {"followup/domain/signals.py"}  # the trade's word there: what observations add up to
    found = {short(p) for p in modules(*PACKAGES, "tests") if vague & {p.stem, p.parent.name}}
    assert found - signals == set()


def test_no_mocks():
    using = [short(p) for p in modules("tests") if re.search(r"^\s*(from|import) .*mock", p.read_text(), re.M)]
    assert using == []


def test_every_page_has_a_name():
    assert [name for name in PAGES if name.endswith("None")] == []


def test_pages_are_closed_unless_listed():
    opened = {name for name, page in PAGES.items() if not getattr(page.callback, "login_required", True)}
    assert opened == OPEN_TO_ALL


FOR_ADDRESS = {"int": 1, "slug": "some-words", "str": "x", "uuid": "0" * 32, "path": "x/y"}


def address(name: str) -> str:
    """The page's address, with something that fits in each place of it."""
    converters = PAGES[name].pattern.converters
    kinds = {key: type(value).__name__.removesuffix("Converter").lower() for key, value in converters.items()}
    filled = {"string": "str"}
    return resolve_url(name, **{key: FOR_ADDRESS[filled.get(kind, kind)] for key, kind in kinds.items()})


@pytest.mark.django_db
@pytest.mark.parametrize("name", sorted(set(PAGES) - OPEN_TO_ALL))
def test_a_stranger_is_sent_to_log_in(name):
    answer = Client().get(address(name))

    assert answer.status_code == 302
    assert answer["Location"].startswith(resolve_url(settings.LOGIN_URL))


@pytest.mark.django_db
def test_migrations_match_the_models():
    call_command("makemigrations", check=True, dry_run=True, stdout=io.StringIO())


def test_the_names_in_settings_lead_somewhere():
    assert settings.DEMO_COMMAND in get_commands()
    assert callable(import_string(settings.TICK_TASK))
    assert callable(import_string(settings.LAST_TICK))
