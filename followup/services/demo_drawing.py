"""Drawn wounds for the demo: no photo of a real animal is ever in it."""

from __future__ import annotations

import io

from PIL import Image, ImageDraw, ImageFilter

WIDE, HIGH = 900, 700
COAT, SKIN, PINK, STITCH = (150, 126, 104), (233, 200, 184), (216, 140, 130), (70, 60, 66)
STITCHES = range(250, 651, 50)


def drawn_wound(redness: int) -> io.BytesIO:
    """A shaved belly with a short stitched line, as a JPEG; `redness` 0 to 3 widens the pink around it."""
    picture = Image.new("RGB", (WIDE, HIGH), COAT)
    pen = ImageDraw.Draw(picture)
    pen.ellipse((110, 110, 790, 590), fill=SKIN)
    if redness:
        reach = 14 * redness
        pen.rounded_rectangle((230 - reach, 350 - reach, 670 + reach, 350 + reach), radius=reach, fill=PINK)
        picture = picture.filter(ImageFilter.GaussianBlur(9))
        pen = ImageDraw.Draw(picture)
    pen.line((230, 350, 670, 350), fill=STITCH, width=5)
    for x in STITCHES:
        pen.line((x - 10, 332, x + 10, 368), fill=STITCH, width=4)
    file = io.BytesIO()
    picture.save(file, "JPEG", quality=85)
    file.seek(0)
    return file
