"""What every test may ask for. Stories have their own, in story.py."""

from __future__ import annotations

import os

from hypothesis import settings

# The same examples in every run, so that a check never fails by luck; HYPOTHESIS_PROFILE=explore looks further.
# No deadline: how long an example takes on a busy machine says nothing.
settings.register_profile("same", derandomize=True, deadline=None)
settings.register_profile("explore", max_examples=1000, deadline=None)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "same"))
