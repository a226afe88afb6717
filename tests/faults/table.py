"""The fault table of README, written from what the trials found: `python -m tests.faults.table README.md`."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from pathlib import Path

from tests.faults.figures import Figures
from tests.faults.form import LONG, PACE

BEGIN, END = "<!-- faults -->", "<!-- /faults -->"
HEAD = "| # | fault | on | planned | lost | to staff | extra copies | most of one | kills | late p50 / p99, s | night |"
RULE = "| --- | --- | --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: |"
FILE = "FAULTS_TABLE"
"""The environment names the file that gathers rows during a run."""


@dataclass(frozen=True)
class Row:
    """One trial: its number, what was done, on which database, its figures, and what else was found."""

    number: str
    fault: str
    on: str
    figures: Figures | None
    besides: str = ""

    def __str__(self) -> str:
        found = "; ".join(part for part in (str(self.figures or ""), self.besides) if part)
        return f"{self.number} ({self.fault}, {self.on}): {found}"

    def in_the_table(self) -> str:
        """As a row of Markdown."""
        fault = f"{self.fault}: {self.besides}" if self.besides else self.fault
        found = self.figures
        numbers = [""] * 8 if found is None else [
            str(found.planned), str(found.lost), str(found.handed_over), str(found.extra), str(found.most),
            str(found.kills), f"{found.p50:.1f} / {found.p99:.1f}", str(found.night),
        ]  # fmt: skip
        return f"| {' | '.join([self.number, fault, self.on, *numbers])} |"


def note(row: Row) -> None:
    """Add a row to the file that gathers them, where there is one."""
    if file := os.environ.get(FILE):
        with Path(file).open("a", encoding="utf-8") as rows:
            rows.write(json.dumps(asdict(row)) + "\n")


def read(file: Path) -> list[Row]:
    """What was gathered, by number; a trial that ran twice counts as it went last."""
    found = [json.loads(line) for line in file.read_text(encoding="utf-8").splitlines()]
    rows = [Row(**{**each, "figures": Figures(**each["figures"]) if each["figures"] else None}) for each in found]
    return sorted({(row.number, row.on): row for row in rows}.values(), key=_place)


def written(rows: Iterable[Row], *, cores: int) -> str:
    """The table, with the machine above it."""
    machine = f"On {cores} cores, everything on one machine; leases, waits and time-outs divided by {PACE}."
    return "\n".join([machine, "", HEAD, RULE, *(row.in_the_table() for row in rows)])


def put_into(text: str, table: str) -> str:
    """The document with the table between its two marks. Raises ValueError where there are none."""
    before, _, rest = text.partition(BEGIN)
    _, mark, after = rest.partition(END)
    if not mark:
        raise ValueError(f"there is no place for the table: {BEGIN} … {END}")
    return f"{before}{BEGIN}\n{table}\n{END}{after}"


def main(document: str) -> None:
    """Write the table of the run that has just ended."""
    rows = read(Path(os.environ[FILE]))
    file = Path(document)
    table = written(rows, cores=os.cpu_count() or 1)
    file.write_text(put_into(file.read_text(encoding="utf-8"), table), encoding="utf-8")
    print(f"{len(rows)} rows written into {document}.")  # noqa: T201 - a command


def _place(row: Row) -> tuple[int, str]:
    digits = "".join(each for each in row.number if each.isdigit())
    return int(digits or 0), row.number


if __name__ == "__main__":
    if not LONG:
        sys.exit("The table shows the long form: FAULTS=long.")
    main(*sys.argv[1:])
