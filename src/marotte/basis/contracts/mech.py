"""What the mech engine hands on: transmissions, loads and skins over the whole travel."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from marotte.basis.contracts.common import F64, Bool, Told, Unknown
from marotte.basis.digest import kept_digest
from marotte.basis.given import Ref


@dataclass(frozen=True, slots=True, kw_only=True)
class MechFault:
    """Something wrong with a mechanism somewhere on its travel."""

    kind: str
    """"unreachable", "toggle", "angle", "branch", "reversed", "steep", "room", "cone", "buckling", "bend"..."""
    output: str
    at: float
    """Position of the output where it shows (SI)."""
    sentence: str
    serious: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Jammed(Unknown):
    """A mechanism that does not go together, or cannot leave neutral: a fault of the design, not of our knowledge."""

    faults: tuple[MechFault, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Transmission:
    """One mechanism: 1 or 2 inputs, 1 or more outputs, over the span where it is sound.

    Inputs are counted from neutral: input 0 is the means with every output at its neutral. With one input,
    a positive input drives the first output up.
    """

    name: str
    inputs: tuple[str, ...]
    """Names of the means that push, in order."""
    outputs: tuple[str, ...]
    """Names of the functions it moves, in order."""
    grid: tuple[F64, ...]
    """Uniform input axes [rad or m]: (m,) or (m0,), (m1,)."""
    position: F64
    """(out, *grid) position of each output."""
    rate: F64
    """(out, in, *grid) d position / d input."""
    bend: F64
    """(out, in, *grid) d rate / d its own input."""
    angle: F64 | None
    """(*grid) transmission angle [rad], the worst of its joints; None where the mech has none."""
    joints: dict[str, F64] = field(default_factory=dict)
    """The same at each joint, (*grid) [rad], by what the rod meets there: "horn", "arm"."""
    dry: float = 0.0
    """Dry friction at the input [N*m or N]."""
    forward: float = 1.0
    """Efficiency from input to output, (0, 1]."""
    back: float = 1.0
    """Efficiency the other way."""
    input_units: tuple[Literal["rad", "m"], ...] = ()
    """Unit of each input."""
    output_units: tuple[Literal["rad", "m"], ...] = ()
    facts: dict[str, float] = field(default_factory=dict)
    """Numbers of this kind of mech that requirements may read, SI, with the unit at the end of the name."""
    play: F64
    """(out,) lost motion at the output [rad or m], full width, at the worst place of the span."""
    play_at: F64 | None = None
    """(out, *grid) the same, place by place."""
    clocking: dict[str, float] = field(default_factory=dict)
    """What a builder sets: name of an angle or length -> its value at neutral (SI), "horn", "arm"."""
    inside: Bool | None = None
    """(*grid) of a sheet: where every output is in its travel and sound; None: everywhere. The rest is a continuation."""
    faults: tuple[MechFault, ...] = ()
    told: tuple[Told, ...] = ()
    rests_on: frozenset[Ref] = frozenset()
    _digest: list[bytes] = field(default_factory=list, init=False, compare=False, repr=False)

    def __digest__(self) -> bytes:
        return kept_digest(self, self._digest)


@dataclass(frozen=True, slots=True, kw_only=True)
class SlopPart:
    """What one link of the chain from servo to telling point loses, full width, at the worst place of the travel."""

    name: str
    """"gears", "spline", "ball joints", "wire", "bracket", "bearing"."""
    new_m: float
    """When new, at the telling point [m]."""
    worn_m: float
    """When worn."""
    note: str
    """How it comes about, and what it rests on."""
    ref: Ref | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Slop:
    """Lost motion of one function where it shows, at the worst place of its travel."""

    function: str
    at: float
    """Position of the function where it is worst (SI)."""
    arm_m: float
    """Distance of the telling point from the axis; 1 for what slides."""
    parts: tuple[SlopPart, ...]
    new_m: float
    """The sum of all parts: the widest that it can be [m]."""
    worn_m: float
    rests_on: frozenset[Ref] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """What one function bears over its own position; linear in gravity, so every attitude is one dot product."""

    function: str
    grid: F64
    """(m,) uniform positions [rad or m] over the travel."""
    gravity: F64
    """(3, m) generalised force per m/s2 of each gravity component in the part's parent frame [kg*m or kg]."""
    spring: F64
    """(m,) generalised force of its own springs [N*m or N]; positive drives the position up."""
    inertia: float
    """[kg*m2 or kg]."""
    dry: float
    """[N*m or N]."""
    viscous: float
    """[N*m*s or N*s/m]."""
    rests_on: frozenset[Ref] = frozenset()
    _digest: list[bytes] = field(default_factory=list, init=False, compare=False, repr=False)

    def __digest__(self) -> bytes:
        return kept_digest(self, self._digest)


@dataclass(frozen=True, slots=True, kw_only=True)
class Skin:
    """One stored energy in one stretch; the functions that hold it draw on it."""

    name: str
    holds: dict[str, float]
    """Function -> stretch per position [m/rad or 1]."""
    sculpted: dict[str, float]
    """Function -> its position in the pose where the skin bears nothing."""
    curve: F64
    """(2, p): stretch [m] rising through 0, force [N]. The force on function f is -hold_f * force(stretch)."""
    band: tuple[float, float] = (1.0, 1.0)
    """Factors on the force, low and high: creep and warmth, cold."""
    locks_at: float | None = None
    """Stretch [m] at which its backing is taut."""
    tears_at: float | None = None
    """Stretch [m] at which a thin edge starts to tear."""
    told: tuple[Told, ...] = ()
    rests_on: frozenset[Ref] = frozenset()
    _digest: list[bytes] = field(default_factory=list, init=False, compare=False, repr=False)

    def __digest__(self) -> bytes:
        return kept_digest(self, self._digest)


@dataclass(frozen=True, slots=True, kw_only=True)
class Mechs:
    """All mechanisms of a creature."""

    transmissions: dict[str, Transmission | Unknown]
    """By mechanism. Unknown: cannot be computed (yet); Jammed: does not go together, which is a fault."""
    loads: dict[str, Load]
    skins: tuple[Skin, ...]
