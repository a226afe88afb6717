"""What every test may ask for. Stories have their own, in story.py."""

from __future__ import annotations
