"""The machine may be busy: no deadlines."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("verdict", deadline=None, max_examples=60)
settings.load_profile("verdict")
