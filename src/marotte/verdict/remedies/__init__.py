"""Remedies and the plan: what to change so that a creature performs, each change tried before it is shown."""

from __future__ import annotations

from marotte.verdict.remedies.search import remedies, wants_remedy

__all__ = ["remedies", "wants_remedy"]
