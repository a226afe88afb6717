"""What the documents say is so."""

from __future__ import annotations

import re
from pathlib import Path

from django.conf import settings

from followup.protocols.load import available

ROOT = Path(__file__).resolve().parent.parent
IN_THE_TABLE = re.compile(r"^\| `([A-Z_]+)` \|([^|]*)\|([^|]*)\|", re.MULTILINE)


def test_every_setting_is_in_the_guide_with_its_default_and_whether_it_is_a_secret():
    guide = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    said = {name: (default.strip(), secret.strip()) for name, default, secret in IN_THE_TABLE.findall(guide)}

    assert {name: secret for name, (_, secret) in said.items()} == {
        name: "yes" if each.secret else "" for name, each in settings.SETTINGS_READ.items()
    }
    for name, each in settings.SETTINGS_READ.items():
        assert says_default(name, said[name][0], each.default), f"{name}: {said[name][0]} is not {each.default}"


DESCRIBED = {
    "SECRET_KEY": "written by `serve` or `prepare`",
    "LINK_KEYS": "written by `serve` or `prepare`",
    "REDIS_URL": "in-memory broker",
    "SECRET_KEY_FALLBACKS": "none",
    "CANARY_ADDRESS": "the program itself",
    "EMAIL_URL": "the tray",
    "SMS_URL": "the tray",
}
"""What holds where a setting is empty."""


def says_default(name: str, words: str, default: object) -> bool:
    """Whether the guide's words say the default; one that is empty, or a path, is described and not quoted."""
    if name == "DATABASE_URL":
        return str(default).startswith("sqlite:///") and words == "SQLite in `DATA_DIR`"
    if name == "DATA_DIR":
        return f"`./{Path(str(default)).relative_to(ROOT)}`" in words
    return words in ({DESCRIBED[name]} if default == "" else spelled(default))


def spelled(default: object) -> set[str]:
    """The ways in which the guide may write a default."""
    if isinstance(default, bool):
        return {"yes" if default else "no"}
    if isinstance(default, list):
        return {", ".join(f"`{each}`" for each in default)}
    return {f"`{default}`", str(default)}


def test_whatever_may_hold_a_key_or_a_password_is_a_secret():
    endings = ("_URL", "_KEY", "_KEYS", "_KEY_FALLBACKS")
    may = {name for name in settings.SETTINGS_READ if name.endswith(endings)} - {"PUBLIC_URL"}
    assert {name for name, each in settings.SETTINGS_READ.items() if each.secret} == may


def test_every_rule_names_where_it_comes_from():
    unsourced = [
        f"{protocol.name}: {rule.code}"
        for protocol in available()
        for rule in protocol.rules.all()
        if not rule.source.text.strip() or not rule.because.strip()
    ]
    assert unsourced == []


def test_the_readme_opens_with_the_job():
    lines = (ROOT / "README.md").read_text(encoding="utf-8").splitlines()

    assert lines[0].startswith("# ")
    assert len(lines[2]) > 200, "one paragraph that states the job comes first"
    assert {"make demo", "make test"} <= {each for each in ("make demo", "make test") if each in "\n".join(lines)}
