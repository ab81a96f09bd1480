"""Looks: to what, when, and how eyes and head share them.

A look is eyes first, then the head 2 to 4 frames later, the eyes turning back as it comes so that they stay on the target, then
stillness (common practice, no source). A human saccade of A degrees lasts 21 ms + 2.2 ms/deg A (Carpenter 1988, *Movements of
the Eyes*): nothing here is asked to be faster. What is asked is the trade's flick, 20 degrees in two frames.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from marotte.basis.frames import Vec
from marotte.basis.ticks import TICKS_PER_SECOND, ticks
from marotte.script.moods import plain

FLICK: Final = 100
"""Two frames at 24 a second [ticks]: a look of up to ``FLICK_ANGLE`` (common practice, no source)."""
FLICK_ANGLE: Final = math.radians(20.0)
FRAME: Final = 50
HEAD_JOINS_TURN: Final = math.radians(15.0)
"""Beyond this the head joins sideways; people's does from 15 to 20 deg (Guitton and Volle 1987, J Neurophysiol 58:427)."""
HEAD_JOINS_NOD: Final = math.radians(10.0)
"""The same up and down; built eyes tilt less than they turn (common practice, no source)."""
HEAD_SHARE: Final = 0.8
"""Share that the head takes of what lies beyond (a rule of this project)."""
THOUGHT: Final = math.radians(10.0)
"""How far eyes go aside in a thought (a rule of this project)."""
BIG_TURN: Final = math.radians(20.0)
"""A head turn that a blink goes with (common practice, no source)."""

ANYWHERE: Final[dict[str, Vec]] = {
    "front": (0.0, 0.0, 3.0), "ahead": (0.0, 0.0, 3.0), "down": (0.0, -0.8, 2.0), "up": (0.0, 0.8, 2.0),
    "left": (1.2, 0.0, 2.0), "right": (-1.2, 0.0, 2.0), "away": (0.9, -0.25, 2.0),
}  # fmt: skip
"""Directions that need no target in the brief [m]; left and right are the creature's own."""
_VERBS: Final = frozenset(
    {
        "look",
        "looks",
        "looking",
        "glance",
        "glances",
        "glancing",
        "peer",
        "peers",
        "peering",
        "stare",
        "stares",
        "staring",
    }
    | {"gaze", "gazes", "gazing"}
)
_CUES: Final = _VERBS | frozenset(
    {
        "turn",
        "turns",
        "turning",
        "eye",
        "eyes",
        "watch",
        "watches",
        "watching",
        "to",
        "at",
        "toward",
        "towards",
        "on",
        "into",
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """The eyes leave for a target at a tick."""

    target: str
    at: int
    line: int
    count: int
    """Count within its line, for a name that stays."""
    head_after: int
    """Ticks from the eyes' start to the head's: 2 to 4 frames."""
    eyes_only: bool = False
    """A thought: the head stays."""


def look_in(text: str, targets: Iterable[str]) -> tuple[str, str]:
    """Return (target, complaint): the target that a direction looks at, or "" with what it seems to look at instead.

    >>> look_in("looks down at the old letter", ["lens", "letter"])
    ('letter', '')
    """
    wanted = plain(text)
    words = re.findall(r"[\w'-]+", wanted)
    best: tuple[int, str] | None = None
    for name in sorted(targets, key=lambda n: (-len(n), n)):
        spoken = name.replace("_", " ").split()
        for place in range(len(words) - len(spoken) + 1):
            if words[place : place + len(spoken)] == spoken and any(
                w in _CUES for w in words[max(0, place - 5) : place]
            ):
                best = min(best, (place, name)) if best else (place, name)
    if best:
        return best[1], ""
    verb = next((i for i, word in enumerate(words) if word in _VERBS), -1)
    if verb < 0:
        return "", ""
    after = words[verb + 1 :]
    for word in after:
        if word in ANYWHERE and not any(w in ("at", "to", "toward", "towards", "into") for w in after):
            return word, ""
    named = [
        w
        for w in after
        if w not in {"at", "to", "toward", "towards", "into", "the", "a", "an", "his", "her", "its", "up", "down"}
    ]
    return "", " ".join(named[:3])


def aside(target: Vec, side: float) -> Vec:
    """Return where eyes go that leave a target to think: ``THOUGHT`` to one side (nearer the middle, else ``side``) and lower."""
    yaw, pitch = angles(target)
    size = math.sqrt(sum(c * c for c in target)) or 1.0
    yaw += -math.copysign(THOUGHT, yaw) if abs(yaw) > THOUGHT else math.copysign(THOUGHT, side)
    pitch -= 0.5 * THOUGHT
    return (size * math.sin(yaw) * math.cos(pitch), size * math.sin(pitch), size * math.cos(yaw) * math.cos(pitch))


def angles(target: Vec, eye: Vec = (0.0, 0.0, 0.0)) -> tuple[float, float]:
    """Return (turn, lift) [rad] from a point to a target: turn to the creature's left, lift up.

    >>> [round(math.degrees(a), 2) for a in angles((0.0, 0.0, 2.4), (0.044, 0.0, 0.0))]  # convergence of the left eye
    [-1.05, 0.0]
    """
    x, y, z = (target[0] - eye[0], target[1] - eye[1], target[2] - eye[2])
    return math.atan2(x, z), math.atan2(y, math.hypot(x, z))


def saccade_ticks(angle: float) -> int:
    """Return the time [ticks] asked for an eye move of an angle [rad]: two frames up to 20 deg, in proportion beyond."""
    return max(FLICK, round(FLICK * abs(angle) / FLICK_ANGLE))


def saccade_least(angle: float) -> float:
    """Return the duration [s] of a human saccade of an angle [rad], Carpenter 1988: the upper limit of speed."""
    return 0.021 + 0.0022 * abs(math.degrees(angle))


def head_ticks(angle: float) -> int:
    """Return the time [ticks] asked for a head move of an angle [rad]: 0.2 s and 6 ms a degree (a rule of this project)."""
    return ticks(0.2 + 0.006 * abs(math.degrees(angle)))


def head_part(angle: float, joins: float, eye_reach: float, head_low: float, head_high: float) -> float:
    """Return what the head takes [rad] of a gaze angle, given how far eyes reach that way and how far the head goes.

    With no eyes that move (``eye_reach`` 0) the head is the gaze and takes it all.
    """
    size = abs(angle)
    wanted = HEAD_SHARE * max(0.0, size - joins)
    wanted = max(wanted, size - 0.9 * eye_reach) if eye_reach > 0 else size
    return min(max(math.copysign(wanted, angle), head_low), head_high)


def blink_turn(before: Vec, after: Vec) -> bool:
    """Return whether going from one target to another takes a big head turn, by the plain share (no creature known yet)."""
    turn = abs(angles(after)[0] - angles(before)[0])
    return HEAD_SHARE * max(0.0, turn - HEAD_JOINS_TURN) > BIG_TURN or turn > 2 * BIG_TURN


def mean_speed(angle: float) -> float:
    """Return the mean speed [rad/s] of the asked eye move."""
    return abs(angle) / (saccade_ticks(angle) / TICKS_PER_SECOND)
