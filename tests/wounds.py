"""Drawn photos of a wound, with the fine structure that a lens sees."""

from __future__ import annotations

import io
from random import Random

from PIL import Image, ImageDraw


def wound(brightness: float = 1.0) -> Image.Image:
    """Fur, skin, a line and stitches: drawn, with the fine structure that a lens sees."""
    chance = Random(3)  # noqa: S311 - the same picture in every run
    picture = Image.new("RGB", (1600, 1200), (205, 160, 140))
    pen = ImageDraw.Draw(picture)
    for _ in range(6000):
        x, y = chance.randrange(1600), chance.randrange(1200)
        if abs(y - 600) > 150:
            pen.line([(x, y), (x + 9, y + 14)], fill=(90, 60, 45), width=2)
    pen.line([(300, 600), (1300, 600)], fill=(150, 60, 60), width=8)
    for x in range(350, 1300, 90):
        pen.line([(x, 560), (x, 640)], fill=(40, 40, 90), width=4)
    return picture.point(lambda value: int(value * brightness))


def jpeg(picture: Image.Image) -> bytes:
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=85)
    return out.getvalue()
