"""README's fault table is what the trials wrote."""

from __future__ import annotations

import pytest

from tests.command import ROOT
from tests.faults import table
from tests.faults.figures import Figures
from tests.faults.table import BEGIN, END, Row, note, put_into, read, written

FOUND = Figures(
    planned=20,
    dropped=0,
    delivered=18,
    handed_over=1,
    unexpected=0,
    extra=3,
    most=2,
    kills=7,
    p50=1.25,
    p99=30.0,
    night=0,
)


@pytest.fixture
def file(tmp_path, monkeypatch):
    monkeypatch.setenv(table.FILE, str(tmp_path / "rows"))
    return tmp_path / "rows"


def test_a_row_comes_back_as_it_was_noted_in_the_order_of_its_number(file):
    ten, two = Row("10", "a hole", "sqlite", None, "others on time"), Row("2", "kills", "sqlite", FOUND)
    for row in (ten, Row("2", "kills", "sqlite", None), two):
        note(row)

    assert read(file) == [two, ten]


def test_the_table_names_the_machine_and_every_figure():
    lines = written([Row("2", "kills", "sqlite", FOUND), Row("19", "a cut line", "postgres", None, "1 reply")], cores=2)

    assert lines.splitlines()[0].startswith("On 2 cores")
    assert "| 2 | kills | sqlite | 20 | 1 | 1 | 3 | 2 | 7 | 1.2 / 30.0 | 0 |" in lines
    assert "| 19 | a cut line: 1 reply | postgres |  |" in lines


def test_only_what_stands_between_the_marks_is_replaced():
    document = f"before\n{BEGIN}\nold\n{END}\nafter\n"

    assert put_into(document, "new") == f"before\n{BEGIN}\nnew\n{END}\nafter\n"
    with pytest.raises(ValueError, match="no place for the table"):
        put_into("no marks", "new")


def test_the_readme_has_a_place_for_it():
    assert put_into((ROOT / "README.md").read_text(encoding="utf-8"), "new")
