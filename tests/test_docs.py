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
        assert says_default(said[name][0], each.default), f"{name}: {said[name][0]} is not {each.default}"


def says_default(words: str, default: object) -> bool:
    """Whether the guide's words say the default; one that is empty, or a path, is described and not quoted."""
    if isinstance(default, bool):
        return words == ("yes" if default else "no")
    if isinstance(default, list):
        return words == ", ".join(f"`{each}`" for each in default)
    if default == "" or str(settings.DATA_DIR) in str(default) or str(ROOT) in str(default):
        return bool(words)
    return words in {f"`{default}`", str(default)}


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
