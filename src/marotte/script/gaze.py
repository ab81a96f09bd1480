"""Looks: to what, when, and how eyes, head and body share them.

A look is eyes first, then the head 2 to 4 frames later, then the body as much later again; what went first turns back as the next
comes, so that the look stays on its target; then stillness (common practice, no source). People's order and steps are the same:
eyes, head and trunk leave about 0.1 s after one another (Anastasopoulos et al. 2009, Exp Brain Res 193:323), and the head in
space goes the same way whether the trunk turns or not (Land 2004, J Vision 4(8):111). A human saccade of A degrees lasts
21 ms + 2.2 ms/deg A (Carpenter 1988, *Movements of the Eyes*): nothing here is asked to be faster. What is asked is the trade's
flick, 20 degrees in two frames.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import lru_cache
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
BODY_JOINS: Final = math.radians(30.0)
"""Beyond this the body joins (a rule of this project). People who have to be quick let it be even at 70 deg (a tracking task at 40 and
70 deg, Ergonomics 2016, 59:1420); a puppet that turns its head alone looks wooden (common practice, no source)."""
BODY_SHARE: Final = 0.6
"""Share that the body takes of what lies beyond (a rule of this project)."""
BODY_LEAST: Final = math.radians(4.0)
"""Less than this no body starts for (a rule of this project)."""
THOUGHT: Final = math.radians(10.0)
"""How far eyes go aside in a thought (a rule of this project)."""
THOUGHT_OF: Final = "thought "
"""What the name of a thought's target begins with; the line's number follows."""
BIG_TURN: Final = math.radians(20.0)
"""A head turn that a blink goes with (common practice, no source)."""

ANYWHERE: Final[dict[str, Vec]] = {
    "front": (0.0, 0.0, 3.0), "ahead": (0.0, 0.0, 3.0), "down": (0.0, -0.8, 2.0), "up": (0.0, 0.8, 2.0),
    "left": (1.2, 0.0, 2.0), "right": (-1.2, 0.0, 2.0), "away": (0.9, -0.25, 2.0),
}  # fmt: skip
"""Directions that need no target in the brief [m]; left and right are the creature's own."""
VERBS: Final = frozenset(
    "look looks looking glance glances glancing peer peers peering stare stares staring gaze gazes gazing".split()  # noqa: SIM905
)
_TURNS: Final = frozenset("turn turns turning".split())  # noqa: SIM905
_CUES: Final = (
    VERBS | _TURNS | frozenset("eye eyes watch watches watching to at toward towards on into".split())  # noqa: SIM905
)
_TOWARDS: Final = frozenset("at to toward towards into".split())  # noqa: SIM905
_LINKS: Final = frozenset(", and then to toward towards back".split())  # noqa: SIM905
"""What joins a second target to a first: "the letter and the door"."""
_PLACES: Final = frozenset("on by in behind near beside under over with of inside above below".split())  # noqa: SIM905
"""What says where a target lies: "the letter on the counter" is one look."""
NOT: Final = frozenset("not never without doesn't don't isn't avoids avoiding".split())  # noqa: SIM905
_ASIDE: Final = frozenset("away left right".split())  # noqa: SIM905
_SMALL: Final = frozenset("at to toward towards into the a an his her its their up down again".split())  # noqa: SIM905


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
    body_after: int = 2 * FRAME
    """Ticks from the head's start to the body's: the same."""
    eyes_only: bool = False
    """A thought: the head stays."""


@lru_cache(maxsize=4096)
def looks_in(text: str, targets: tuple[str, ...]) -> tuple[tuple[str, ...], str]:
    """Return (targets, complaint): what a piece of a direction looks at, in order, or what it seems to look at instead.

    >>> looks_in("looks down at the old letter", ("lens", "letter"))
    (('letter',), '')
    >>> looks_in("looks from the letter to the lens", ("lens", "letter"))
    (('letter', 'lens'), '')
    """
    words = re.findall(r"[\w'-]+|,", plain(text))
    out: list[str] = []
    end = 0
    found = _named(words, targets)
    for k, (place, stop, name) in enumerate(found):
        between = words[max(end, place - 5) : place]
        if any(w in NOT for w in between):
            continue
        left = "from" in between and not any(w in _TOWARDS for w in between[between.index("from") :])
        if left and not (k + 1 < len(found) and between.index("from") == 1 and between[0] in VERBS | _TURNS):
            continue  # "looks up from the letter": the letter is where they leave
        linked = any(w in _LINKS or w in VERBS for w in between) and not any(w in _PLACES for w in between)
        if linked if out else any(w in _CUES for w in between):
            out.append(name)
            end = stop
    if out:
        return tuple(out), ""
    verb = next((i for i, word in enumerate(words) if word in VERBS | _TURNS), -1)
    if verb < 0 or any(w in NOT for w in words):
        return (), ""
    after = words[verb + 1 :]
    if not any(w in _TOWARDS for w in after):
        ways = [w for w in after if w in (ANYWHERE if words[verb] in VERBS else _ASIDE)]
        around = words[verb] in _TURNS and any(w in ("round", "around", "head", "body") for w in after)
        if ways and not around:
            return tuple(ways), ""
    named = [w for w in after if w not in _SMALL and w != ","]
    return (), " ".join(named[:3]) if words[verb] in VERBS else ""


def _named(words: list[str], targets: tuple[str, ...]) -> list[tuple[int, int, str]]:
    """Return (first word, word after, target) for every target named, in order; the longer name where two overlap."""
    out: list[tuple[int, int, str]] = []
    for name in sorted(targets, key=lambda n: (-len(n), n)):
        spoken = name.replace("_", " ").split()
        for place in range(len(words) - len(spoken) + 1):
            stop = place + len(spoken)
            if words[place:stop] == spoken and not any(a < stop and place < b for a, b, _ in out):
                out.append((place, stop, name))
    return sorted(out)


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


def body_ticks(angle: float) -> int:
    """Return the time [ticks] asked for a body move of an angle [rad]: 0.3 s and 8 ms a degree (a rule of this project)."""
    return ticks(0.3 + 0.008 * abs(math.degrees(angle)))


def front_part(angle: float, joins: float, eye_reach: float) -> float:
    """Return what the eyes leave to head and body [rad] of a gaze angle, given how far eyes reach that way.

    With no eyes that move (``eye_reach`` 0) that is all of it.
    """
    size = abs(angle)
    wanted = HEAD_SHARE * max(0.0, size - joins)
    wanted = max(wanted, size - 0.9 * eye_reach) if eye_reach > 0 else size
    return math.copysign(wanted, angle)


def body_part(angle: float, front: float, head_reach: float) -> float:
    """Return what the body takes [rad] of a gaze angle of which ``front`` is left to head and body.

    ``head_reach`` is how far the head turns that way; a head that does not turn (0) leaves all of it to the body.
    """
    wanted = BODY_SHARE * max(0.0, abs(angle) - BODY_JOINS)
    wanted = max(wanted, abs(front) - 0.9 * head_reach) if head_reach > 0 else abs(front)
    wanted = min(wanted, abs(front))
    return math.copysign(wanted, front) if wanted >= BODY_LEAST or head_reach <= 0 else 0.0


def blink_turn(before: Vec, after: Vec) -> bool:
    """Return whether going from one target to another takes a big head turn, by the plain share (no creature known yet)."""
    turn = abs(angles(after)[0] - angles(before)[0])
    return HEAD_SHARE * max(0.0, turn - HEAD_JOINS_TURN) > BIG_TURN or turn > 2 * BIG_TURN


def mean_speed(angle: float) -> float:
    """Return the mean speed [rad/s] of the asked eye move."""
    return abs(angle) / (saccade_ticks(angle) / TICKS_PER_SECOND)
