"""Whether a photo is too dark or too blurred for a wound to be judged by it; it is kept all the same.

Both limits are ours, common practice, no source: set so that only what a vet could make nothing of is spoken of.
"""

from __future__ import annotations

from PIL import Image, ImageFilter, ImageStat

DARK = 40
"""Mean brightness, of 255."""
FLAT = 8
"""Variance of the second derivative (brightness, of 255) at 512 pixels: without any edge it is near nothing."""
LOOKED_AT, NEIGHBOURS = 512, 3
_SECOND_DERIVATIVE = ImageFilter.Kernel((3, 3), [0, 1, 0, 1, -4, 1, 0, 1, 0], scale=1, offset=128)


def is_dark(picture: Image.Image) -> bool:
    """Whether nearly nothing can be seen."""
    return bool(ImageStat.Stat(_grey(picture)).mean[0] < DARK)


def is_blurred(picture: Image.Image) -> bool:
    """Whether no edge in it is sharp."""
    edges = _grey(picture).filter(_SECOND_DERIVATIVE)
    if min(edges.size) < NEIGHBOURS:
        return True
    inside = edges.crop((1, 1, edges.width - 1, edges.height - 1))
    return bool(ImageStat.Stat(inside).var[0] < FLAT)


def _grey(picture: Image.Image) -> Image.Image:
    small = picture.convert("L")
    small.thumbnail((LOOKED_AT, LOOKED_AT))
    return small
