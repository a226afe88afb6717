"""Which drugs belong together where a rule asks for a group. Generic names, lower case, as case files write them.

Source: the NSAIDs stand in clinical defaults, 8 (M); the other groups are from memory of textbooks (M).
"""

from __future__ import annotations

from enum import StrEnum


class DrugGroup(StrEnum):
    """What a drug is."""

    NSAID = "nsaid"
    OPIOID = "opioid"
    LOCAL_ANAESTHETIC = "local_anaesthetic"
    SEDATIVE = "sedative"


ANIMAL_NSAIDS = (
    "meloxicam", "carprofen", "robenacoxib", "ketoprofen", "firocoxib", "deracoxib", "cimicoxib", "mavacoxib",
    "tolfenamic acid", "flunixin", "grapiprant",
)  # fmt: skip
HUMAN_NSAIDS = ("aspirin", "ibuprofen", "naproxen", "diclofenac")

MEMBERS: dict[DrugGroup, frozenset[str]] = {
    DrugGroup.NSAID: frozenset(ANIMAL_NSAIDS + HUMAN_NSAIDS),
    DrugGroup.OPIOID: frozenset(
        {
            "buprenorphine", "butorphanol", "methadone", "morphine", "fentanyl", "hydromorphone", "oxymorphone",
            "pethidine", "nalbuphine", "tramadol", "codeine",
        }
    ),
    DrugGroup.LOCAL_ANAESTHETIC: frozenset({"lidocaine", "bupivacaine", "ropivacaine", "mepivacaine"}),
    DrugGroup.SEDATIVE: frozenset(
        {
            "medetomidine", "dexmedetomidine", "xylazine", "acepromazine", "midazolam", "diazepam", "ketamine",
            "alfaxalone", "gabapentin", "trazodone",
        }
    ),
}  # fmt: skip
"""The drugs of each group."""


def is_a(drug: str, group: DrugGroup) -> bool:
    """Whether `drug` belongs to `group`."""
    return drug.casefold() in MEMBERS[group]
