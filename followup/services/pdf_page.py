"""A4 paper for a PDF: one font that ships with the program, headings, lists, boxes, a drawn syringe and a QR code.

The font has Latin, Greek, Cyrillic, Hebrew and Arabic letters. What it lacks is printed as an empty box and said in
words at the end, so that nobody takes a box for a name.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import segno
from django.utils.translation import gettext as _
from fpdf import FPDF
from fpdf.enums import XPos, YPos

from followup.services.syringe import BARREL, Syringe

FONTS = Path(__file__).resolve().parent.parent / "fonts"
FAMILY = "DejaVu"
MARGIN, WIDTH, HEIGHT = 12, 210, 297
"""Millimetres."""

INNER = WIDTH - 2 * MARGIN
SMALL, BODY, HEADING, TITLE, BIG = 8.5, 10, 12, 16, 20
"""Points."""

MISSING = "\u25a1"
SYRINGE_MM = 100 / BARREL
"""Millimetres for one unit of a drawn syringe."""


class Paper(FPDF):
    """Pages with the same foot: who it is about, when it was made, and which page of how many."""

    def __init__(self, foot: str) -> None:
        """`foot` stands at the lower edge of each page."""
        super().__init__(orientation="portrait", unit="mm", format="A4")
        self.set_margin(MARGIN)
        self.set_auto_page_break(auto=True, margin=MARGIN + 6)
        self.add_font(FAMILY, "", str(FONTS / "DejaVuSans.ttf"))
        self.add_font(FAMILY, "B", str(FONTS / "DejaVuSans-Bold.ttf"))
        self.set_font(FAMILY, "", BODY)
        self.set_text_shaping(use_shaping_engine=True)
        self.set_creator("")
        self.set_title("")
        self.missing = False
        self._foot = self.shown(foot)

    def footer(self) -> None:
        """Called by the library at the end of each page."""
        self.set_y(-MARGIN - 2)
        self.set_font(FAMILY, "", SMALL)
        self.cell(INNER - 30, 5, self._fitting(self._foot, INNER - 30))
        self.cell(30, 5, f"{self.page_no()} / {{nb}}", align="R")

    def _fitting(self, text: str, wide: float) -> str:
        """The text, cut in its middle where it is longer than the line: its end says which version it is."""
        kept = text
        while self.get_string_width(kept) > wide:
            half = len(kept) // 2
            kept = f"{kept[: half - 3]}\u2026{kept[half + 3 :]}"
        return kept

    def shown(self, text: str) -> str:
        """The text with an empty box for each letter that the font lacks."""
        known = self.fonts[FAMILY.lower()].cmap  # type: ignore[union-attr] # both styles have the same letters
        kept = "".join(letter if ord(letter) in known or letter in "\n\u200f\u200e" else MISSING for letter in text)
        self.missing = self.missing or kept != text
        return kept

    def say(self, text: str, *, size: float = BODY, bold: bool = False, indent: float = 0) -> None:
        """One paragraph, broken where it must be."""
        self.set_font(FAMILY, "B" if bold else "", size)
        self.set_x(MARGIN + indent)
        self.multi_cell(INNER - indent, size * 0.47, self.shown(text), align="L", new_x=XPos.LMARGIN, new_y=YPos.NEXT)

    def heading(self, text: str) -> None:
        """The heading of a section, never alone at the foot of a page."""
        if self.will_page_break(18):
            self.add_page()
        self.ln(1.8)
        self.say(text, size=HEADING, bold=True)
        self.ln(0.4)

    def bullets(self, texts: Sequence[str]) -> None:
        """A list."""
        for text in texts:
            self.set_font(FAMILY, "", BODY)
            self.set_x(MARGIN)
            self.cell(4, BODY * 0.47, "\u2022")
            self.say(text, indent=4)

    def boxed(self, text: str, *, size: float = BODY) -> None:
        """A short text in a frame: what must stand on a bottle."""
        self.set_font(FAMILY, "B", size)
        self.multi_cell(
            0, size * 0.55, self.shown(text), border=1, align="L", new_x=XPos.LMARGIN, new_y=YPos.NEXT, padding=(1, 2)
        )
        self.ln(1)

    def qr(self, link: str, *, x: float, y: float, side: float) -> None:
        """A QR code of `link`, as squares."""
        rows = [list(row) for row in segno.make_qr(link, error="m").matrix]
        cell = side / len(rows)
        self.set_fill_color(0, 0, 0)
        for top, row in enumerate(rows):
            for left, dark in enumerate(row):
                if dark:
                    self.rect(x + left * cell, y + top * cell, cell, cell, style="F")

    def syringe(self, drawn: Syringe) -> None:
        """A syringe filled to the mark, at the place where the next line would stand."""
        tall = 24
        if self.will_page_break(tall):
            self.add_page()
        x0, y0 = MARGIN + 12, self.get_y() + 7
        self.set_line_width(0.35)
        self.rect(x0 - 11, y0 + 4, 11, 5)
        self.set_fill_color(205, 205, 205)
        self.rect(x0, y0, drawn.fill * SYRINGE_MM, 13, style="F")
        self.rect(x0, y0, BARREL * SYRINGE_MM + 2, 13)
        self._marks(drawn, x0, y0)
        edge = x0 + drawn.fill * SYRINGE_MM
        self.set_line_width(1.1)
        self.line(edge, y0 - 1, edge, y0 + 13)
        self.set_line_width(0.8)
        self.line(edge, y0 + 6.5, x0 + BARREL * SYRINGE_MM + 14, y0 + 6.5)
        self.line(x0 + BARREL * SYRINGE_MM + 14, y0 + 2.5, x0 + BARREL * SYRINGE_MM + 14, y0 + 10.5)
        self.set_line_width(0.2)
        self.set_font(FAMILY, "B", BODY)
        wide = self.get_string_width(drawn.amount)
        self.text(min(max(edge - wide / 2, x0), x0 + BARREL * SYRINGE_MM - wide), y0 - 2, drawn.amount)
        self.set_y(y0 + tall - 5)

    def _marks(self, drawn: Syringe, x0: float, y0: float) -> None:
        self.set_font(FAMILY, "", 7)
        for mark in drawn.marks:
            x = x0 + mark.x * SYRINGE_MM
            long = 5 if mark.label else 3.4 if mark.half else 2
            self.set_line_width(0.25 if mark.label else 0.12)
            self.line(x, y0 + 13, x, y0 + 13 - long)
            if mark.label:
                self.text(x - self.get_string_width(mark.label) / 2, y0 + 16.4, mark.label)

    def say_what_is_missing(self) -> None:
        """A word about letters that could not be printed."""
        if self.missing:
            self.ln(1)
            self.say(
                _("%(box)s: a letter that cannot be printed here; your page on the phone has it.") % {"box": MISSING},
                size=SMALL,
            )

    def finished(self) -> bytes:
        """The finished file."""
        return bytes(self.output())
