"""The pictures of a run as files, and a page that shows them side by side."""

from __future__ import annotations

import os
from collections.abc import Iterable
from html import escape
from pathlib import Path
from typing import Literal, get_args

ROOT = Path(__file__).resolve().parents[3]
KEPT = "PICTURES" in os.environ
"""Whether pictures are taken at all: they take a third of the time, and are for looking at."""

FOLDER = Path(os.environ.get("PICTURES") or ROOT / "pictures")
Scheme = Literal["light", "dark"]
WIDTHS = (390, 1280)
SCHEMES: tuple[Scheme, ...] = get_args(Scheme)
HEAD = """<!doctype html><html lang="en"><meta charset="utf-8"><title>Pictures of every page</title>
<style>body { font: 1rem/1.4 sans-serif; background: #ddd; margin: 1rem } h2 { margin: 2rem 0 .5rem; font-size: 1.1rem }
div { display: flex; gap: 1rem; align-items: start; overflow-x: auto } img { height: 26rem; border: 1px solid #888 }
nav a { margin-right: 1rem; white-space: nowrap; display: inline-block }</style>
<h1>Pictures of every page</h1>
<p>390 px light and dark, 1280 px light and dark. A click opens one in full.</p>
"""


def picture(name: str, width: int, scheme: str) -> Path:
    """Where a picture is kept: `patient-390-dark.png`."""
    return FOLDER / f"{name}-{width}-{scheme}.png"


def of_page(name: str) -> list[Path]:
    """All four of a page, taken or not."""
    return [picture(name, width, scheme) for width in WIDTHS for scheme in SCHEMES]


def write_index(names: Iterable[str]) -> None:
    """A page with what there is, in the order of `names`; pictures of pages that are no more are thrown away."""
    if not KEPT:
        return
    FOLDER.mkdir(parents=True, exist_ok=True)
    there = [name for name in names if any(path.exists() for path in of_page(name))]
    wanted = {path for name in there for path in of_page(name)}
    for left_over in set(FOLDER.glob("*-*-*.png")) - wanted:
        left_over.unlink()
    links = "".join(f'<a href="#{name}">{escape(name)}</a>' for name in there)
    (FOLDER / "index.html").write_text(
        f"{HEAD}<nav>{links}</nav>{''.join(map(_row, there))}</html>\n", encoding="utf-8"
    )


def _row(name: str) -> str:
    shown = "".join(
        f'<a href="{path.name}"><img loading="lazy" src="{path.name}" alt="{path.stem}"></a>'
        for path in of_page(name)
        if path.exists()
    )
    return f'<h2 id="{name}">{escape(name)}</h2><div>{shown}</div>\n'
