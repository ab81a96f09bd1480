"""Windows of the mouth's hits against ITU-R BT.1359-1 (sync_bt1359.json): late is noticed sooner than early."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from marotte.script.hits import EARLY, LATE, VOICES, allowed

SYNC = json.loads(Path(__file__).with_name("sync_bt1359.json").read_text())


def test_detectability_is_the_recommendation_s() -> None:
    early_sound, late_sound = SYNC["detectability_ms"]
    # sound early is the mouth late
    assert pytest.approx(early_sound, abs=SYNC["tolerance_ms"]) == LATE / 1.2
    assert pytest.approx(-late_sound, abs=SYNC["tolerance_ms"]) == EARLY / 1.2


@pytest.mark.parametrize("voice", ["own", "playback", "other"])
def test_scatter_and_lead_never_widen_the_window_beyond_detectability(voice: str) -> None:
    opens, shuts = allowed(10_000, 10_000, voice)  # type: ignore[arg-type]
    mode = VOICES[voice]  # type: ignore[index]
    # seen = asked - lead + lag: at the late end with the whole lead taken, at the early end with none (or all the lateness there is)
    latest_seen = (shuts - 10_000) - mode.lead + mode.spread
    earliest_seen = (opens - 10_000) - min(mode.lead, 0) - mode.spread
    assert latest_seen == LATE
    assert earliest_seen == -EARLY


def test_own_voice_leaves_most_room_for_lag_and_another_s_none() -> None:
    own, playback, other = (allowed(0, 0, voice)[1] for voice in ("own", "playback", "other"))  # type: ignore[arg-type]
    assert own > playback > 0 > other
