"""Whose turn it is to answer, and with which question of the check-in: owners one after the other, several at once."""

from __future__ import annotations


def turns(posts: int, steps: int) -> list[tuple[int, int]]:
    """The owner and the step of each post. An owner keeps the order; every step comes as often at any time.

    As many owners as there are steps answer at once, each a step further than the one before.
    """
    found = []
    for post in range(posts):
        lap, place = divmod(post, steps)
        sitting, step = divmod(lap + place, steps)
        found.append((sitting * steps + place, step))
    return found
