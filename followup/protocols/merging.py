"""Protocols are put together from parts, and kept by a plan as one text that needs no other.

Tables are merged key by key; lists of tables that carry a `code` are joined, the child's table taking the place of the
parent's with the same code; any other value of the child takes the place of the parent's.
"""

from __future__ import annotations

import json
from collections.abc import Mapping

from followup.protocols.places import Placed

Tables = dict[str, object]


def merge(parent: Mapping[str, object], child: Mapping[str, object]) -> Tables:
    """`child` laid over `parent`."""
    merged = dict(parent)
    for key, value in child.items():
        merged[key] = _over(merged[key], value) if key in merged else value
    return parent.under(child, merged) if isinstance(parent, Placed) else merged


def as_text(tables: Mapping[str, object]) -> str:
    """`tables` as TOML that reads back the same."""
    plain = [f"{_key(key)} = {_value(value)}" for key, value in tables.items() if _is_plain(value)]
    blocks = [_block(key, value) for key, value in tables.items() if not _is_plain(value)]
    return "\n\n".join(["\n".join(plain), *blocks]).strip() + "\n"


def _over(parent: object, child: object) -> object:
    if isinstance(parent, dict) and isinstance(child, dict):
        return merge(parent, child)
    if _coded(parent) and _coded(child):
        assert isinstance(parent, list)  # noqa: S101  # _coded has seen to it; mypy cannot
        assert isinstance(child, list)  # noqa: S101
        by_code = {entry["code"]: entry for entry in [*parent, *child]}
        return list(by_code.values())
    return child


def _coded(value: object) -> bool:
    return isinstance(value, list) and all(isinstance(each, dict) and "code" in each for each in value)


def _is_plain(value: object) -> bool:
    if isinstance(value, dict):
        return False
    return not (isinstance(value, list) and value and all(isinstance(each, dict) for each in value))


def _block(key: str, value: object) -> str:
    if isinstance(value, dict):
        return f"[{_key(key)}]\n{_lines(value)}"
    entries = value if isinstance(value, list) else []
    return "\n\n".join(f"[[{_key(key)}]]\n{_lines(entry)}" for entry in entries)


def _lines(table: Mapping[str, object]) -> str:
    return "\n".join(f"{_key(key)} = {_value(value)}" for key, value in table.items())


def _key(key: str) -> str:
    return key if key.replace("_", "").replace("-", "").isalnum() and key.isascii() else json.dumps(key)


def _value(value: object) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{_key(key)} = {_value(each)}" for key, each in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(_value(each) for each in value) + "]"
    return json.dumps(value, ensure_ascii=False)  # words, numbers, true and false are written alike
