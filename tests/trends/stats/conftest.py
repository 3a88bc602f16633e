"""Property tests run the same examples every time, and are not timed one by one."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("statistics", deadline=None, derandomize=True, max_examples=80)
settings.load_profile("statistics")
