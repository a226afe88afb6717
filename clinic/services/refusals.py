"""Refusals of the clinic's services."""

from __future__ import annotations


class Refused(Exception):
    """What cannot be done, in a sentence for whoever asked. `field` names where to show it, if anywhere."""

    def __init__(self, message: str, *, field: str = "") -> None:
        """Keep where the refusal belongs beside its words."""
        super().__init__(message)
        self.field = field
