"""What the documents say is so."""

from __future__ import annotations

import re
from pathlib import Path

from followup.protocols.load import available

ROOT = Path(__file__).resolve().parent.parent
FROM_ENVIRONMENT = re.compile(r"env\.\w+\(\s*\"([A-Z_]+)\"")
IN_THE_TABLE = re.compile(r"^\| `([A-Z_]+)` \|", re.MULTILINE)
IN_QUOTES = re.compile(r"\"([A-Z_]+)\" in env")


def test_every_setting_is_in_the_guide_and_no_other():
    settings = (ROOT / "clinic" / "settings.py").read_text(encoding="utf-8")
    guide = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")

    read = set(FROM_ENVIRONMENT.findall(settings)) | set(IN_QUOTES.findall(settings))
    assert read == set(IN_THE_TABLE.findall(guide))


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
