"""Property tests here have no time limit: a busy machine is not a fault."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
