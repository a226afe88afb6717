"""Writing a fault down for whoever mends it: where it came from, and nothing of what was stored or said."""

from __future__ import annotations

import logging
import traceback

from followup.domain.terms import FollowUpError


def write_down(logger: logging.Logger, what: str, fault: BaseException) -> None:
    """Log `what` with the kind of the fault and its traceback, without its message: that may quote an owner."""
    logger.error("%s: %s", what, where_from(fault))


def where_from(fault: BaseException) -> str:
    """The lines of the program that led to the fault, and to what caused it, each ended by its kind."""
    cause = fault.__cause__ or (None if fault.__suppress_context__ else fault.__context__)
    before = f"{where_from(cause)}\nthen:\n" if cause is not None else ""
    return f"{before}{type(fault).__name__}\n{''.join(traceback.format_tb(fault.__traceback__))}"


def told_to_staff(fault: BaseException) -> str:
    """What stands against it, for the practice's own pages: a refusal's own sentence, else the kind of the fault."""
    if isinstance(fault, FollowUpError):
        return str(fault).rstrip(".")
    return f"an error in the program ({type(fault).__name__})"
