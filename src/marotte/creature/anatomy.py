"""The anatomy: the places on a creature where something may move, and which way is positive.

A part gives a function its axis, a place to start from, and what its positions mean. Axes and directions are in the
frame of what the part rides on, with everything at zero: x to the creature's left, y up, z forward (basis/frames.py).
Axis and place are those of the middle part, or of the left one of a pair.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal, TypeAlias

from marotte.basis.frames import Vec, mirrored, mirrored_axis

Group: TypeAlias = Literal["head", "mouth", "eyes", "brows", "face", "ears", "body", "other"]
Bears: TypeAlias = Literal["hand", "skull", "shoulders", "post", "rod"]
Bearer: TypeAlias = Literal["ground", "body", "neck", "head", "jaw", "ear"]

EYE_SPACING: Final = 0.088
"""Distance of the eye centres [m] where the file gives none: of a head about 210 mm wide."""
_HALF: Final = 0.7071067811865476


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One place on the anatomy."""

    name: str
    group: Group
    kind: Literal["turn", "slide"]
    axis: Vec | None
    """Unit axis of the turn (right-hand rule) or direction of the slide; None: the function must write its own."""
    at: Vec
    """A point on the axis, in eye spacings from the origin midway between the eyes. A first guess: the file's wins."""
    mirrors: Literal["outward", "together"]
    """Whether the right one of a pair turns the mirrored way (lids, ears) or the same way (gaze)."""
    rides_on: Bearer
    says: str
    """What a growing position means."""
    carried_by: Bears = "skull"

    def axis_for(self, side: Literal["left", "right"] | None) -> Vec | None:
        """Return the axis of one side; the right one is the left one's mirror, unless the pair moves together."""
        if self.axis is None or side != "right" or self.mirrors == "together":
            return self.axis
        return mirrored_axis(self.axis) if self.kind == "turn" else mirrored(self.axis)

    def place(self, side: Literal["left", "right"] | None, eye_spacing_m: float = EYE_SPACING) -> Vec:
        """Return the point on the axis [m] of one side, for eyes that far apart."""
        point = (self.at[0] * eye_spacing_m, self.at[1] * eye_spacing_m, self.at[2] * eye_spacing_m)
        if side is None:
            return (0.0, point[1], point[2])
        return mirrored(point) if side == "right" else point


def _turn(
    name: str, group: Group, axis: Vec | None, at: Vec, says: str, *, rides_on: Bearer = "head",
    mirrors: Literal["outward", "together"] = "outward", carried_by: Bears = "skull",
) -> Part:  # fmt: skip
    return Part(
        name=name, group=group, kind="turn", axis=axis, at=at,
        mirrors=mirrors, rides_on=rides_on, says=says, carried_by=carried_by,
    )  # fmt: skip


def _slide(
    name: str,
    group: Group,
    axis: Vec | None,
    at: Vec,
    says: str,
    *,
    rides_on: Bearer = "head",
    carried_by: Bears = "skull",
) -> Part:
    return Part(
        name=name, group=group, kind="slide", axis=axis, at=at,
        mirrors="outward", rides_on=rides_on, says=says, carried_by=carried_by,
    )  # fmt: skip


_NECK: Final[Vec] = (0.0, -1.1, -0.7)
_EYE: Final[Vec] = (0.5, 0.0, 0.0)
_WING: Final[Vec] = (0.7, -2.5, -0.6)
_BODY: Final[Vec] = (0.0, -4.0, -0.7)

_ALL: Final = (
    _turn("head_turn", "head", (0.0, 1.0, 0.0), _NECK, "turns to its left", rides_on="neck"),
    _turn("head_nod", "head", (-1.0, 0.0, 0.0), _NECK, "looks up", rides_on="neck"),
    _turn("head_tilt", "head", (0.0, 0.0, -1.0), _NECK, "leans to its left shoulder", rides_on="neck"),
    _turn("jaw", "mouth", (1.0, 0.0, 0.0), (0.0, -0.45, -0.68), "opens"),
    _turn("beak", "mouth", (1.0, 0.0, 0.0), (0.0, -0.35, 0.1), "opens"),
    _slide("lip_lower", "mouth", (0.0, -1.0, 0.0), (0.0, -0.85, 0.55), "goes down and bares the teeth", rides_on="jaw"),
    _slide("lip_upper", "mouth", (0.0, 1.0, 0.0), (0.15, -0.55, 0.6), "goes up"),
    _slide("lip_corner", "mouth", (0.0, _HALF, -_HALF), (0.35, -0.65, 0.3), "goes back and up"),
    _slide("tongue", "mouth", (0.0, 0.0, 1.0), (0.0, -0.7, 0.3), "comes out", rides_on="jaw"),
    _slide("nose", "face", (0.0, 1.0, 0.0), (0.0, -0.3, 0.75), "goes up"),
    _slide("nostril", "face", (1.0, 0.0, 0.0), (0.1, -0.35, 0.75), "flares"),
    _slide("cheek", "face", (0.0, 1.0, 0.0), (0.5, -0.4, 0.25), "goes up"),
    _slide("muzzle_lift", "face", (0.0, 1.0, 0.0), (0.0, -0.4, 0.65), "goes up"),
    _turn("eye_turn", "eyes", (0.0, 1.0, 0.0), _EYE, "looks to its left", mirrors="together"),
    _turn("eye_lift", "eyes", (-1.0, 0.0, 0.0), _EYE, "looks up", mirrors="together"),
    _turn("lid_upper", "eyes", (1.0, 0.0, 0.0), _EYE, "shuts"),
    _turn("lid_lower", "eyes", (-1.0, 0.0, 0.0), _EYE, "shuts"),
    _slide("brow", "brows", (0.0, 1.0, 0.0), (0.4, 0.35, 0.15), "goes up"),
    _slide("brow_inner", "brows", (0.0, 1.0, 0.0), (0.25, 0.35, 0.2), "goes up"),
    _slide("brow_outer", "brows", (0.0, 1.0, 0.0), (0.65, 0.35, 0.05), "goes up"),
    _turn("ear_lift", "ears", (1.0, 0.0, 0.0), (0.6, 0.9, -0.6), "comes forward"),
    _turn("ear_swivel", "ears", (0.0, 1.0, 0.0), (0.6, 0.9, -0.6), "turns outward"),
    _turn("ear_tip", "ears", (1.0, 0.0, 0.0), (0.7, 2.4, -0.6), "curls forward", rides_on="ear"),
    _turn("neck", "body", (-1.0, 0.0, 0.0), (0.0, -2.2, -0.9), "rises", rides_on="body", carried_by="shoulders"),
    _slide("breath", "body", (0.0, 0.0, 1.0), (0.0, -3.0, 0.2), "swells", rides_on="body", carried_by="hand"),
    _slide("wing_reach", "body", (_HALF, 0.0, _HALF), _WING, "reaches out", rides_on="body", carried_by="hand"),
    _turn("wing_lift", "body", (0.0, 0.0, 1.0), _WING, "lifts", rides_on="body", carried_by="hand"),
    _turn("tail", "body", (1.0, 0.0, 0.0), (0.0, -4.0, -1.6), "cocks up", rides_on="body", carried_by="hand"),
    _turn("arm", "body", (-1.0, 0.0, 0.0), (1.6, -2.5, -0.7), "lifts forward", rides_on="body", carried_by="shoulders"),
    _turn("body_turn", "body", (0.0, 1.0, 0.0), _BODY, "turns to its left", rides_on="ground", carried_by="hand"),
    _turn("body_tip", "body", (1.0, 0.0, 0.0), _BODY, "leans forward", rides_on="ground", carried_by="hand"),
    _slide("hop", "body", (0.0, 1.0, 0.0), _BODY, "goes up", rides_on="ground", carried_by="hand"),
    _slide("gait", "body", (0.0, 0.0, 1.0), _BODY, "steps forward", rides_on="ground", carried_by="shoulders"),
    _turn("other_turn", "other", None, (0.0, 0.0, 0.0), "turns by the right-hand rule about its own axis"),
    _slide("other_slide", "other", None, (0.0, 0.0, 0.0), "goes along its own axis"),
)

PARTS: Final[Mapping[str, Part]] = MappingProxyType({part.name: part for part in _ALL})
"""Every part, by name."""
HEAD_MOTION: Final = ("head_turn", "head_nod", "head_tilt")
"""Parts that set the attitude of all that rides on the head, in the order in which they are applied, neck first."""
