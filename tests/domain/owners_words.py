"""Sentences of owners with what each says, and the vocabulary that reads them."""

from __future__ import annotations

import tomllib
from pathlib import Path

from followup.domain.said import Said, said_in
from followup.vocabulary.load import vocabulary

FOLDER = Path(__file__).parent / "owners_sentences"
LANGUAGES = ("en", "es", "fr", "de")


def sentences(name: str, key: str) -> list[str]:
    return [str(each) for each in tomllib.loads((FOLDER / f"{name}.toml").read_text(encoding="utf-8"))[key]]


def everything(key: str) -> list[str]:
    return [each for language in LANGUAGES for each in sentences(language, key)]


def said(written: str) -> Said:
    return said_in(written, vocabulary())
