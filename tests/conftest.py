"""What every test may ask for. Stories have their own, in story.py."""

from __future__ import annotations

import os

from hypothesis import settings

# The same examples in every run, so that a check never fails by luck; HYPOTHESIS_PROFILE=explore looks further.
settings.register_profile("same", derandomize=True)
settings.register_profile("explore", max_examples=1000)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "same"))
