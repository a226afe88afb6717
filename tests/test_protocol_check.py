"""`manage.py check` reads every protocol whole, and names file and line of what is wrong."""

from __future__ import annotations

from followup import checks
from followup.protocols import load as loading
from followup.protocols.load import FOLDER


def test_what_ships_is_sound():
    assert checks.protocols_are_sound() == []


def test_a_rule_without_a_source_is_an_error_of_the_check(monkeypatch, tmp_path):
    for path in FOLDER.glob("*.toml"):
        (tmp_path / path.name).write_text(path.read_text())
    part = tmp_path / "rabbit_spay.toml"
    part.write_text(part.read_text() + '\n[[restriction]]\ncode = "indoors"\ndays = 3\nmark = "C"\nsource = ""\n')
    monkeypatch.setattr(checks, "load", lambda name: loading.load(name, tmp_path))

    (fault,) = checks.protocols_are_sound()
    line = len(part.read_text().splitlines())
    assert fault.msg.startswith(f"rabbit_spay.toml:{line}: restriction[")
    assert "source must say where it comes from" in fault.msg
