"""What moves: ``functions``, and the mechs that join several of them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, ClassVar, Literal

from pydantic import Field, model_validator

from marotte.basis.units import ANGLE, DAMPING, FORCE, INERTIA, LENGTH, MASS, STIFFNESS, TORQUE, TWIST, UnitError, parse
from marotte.creature.origin import Block, Origin, Text, origin_of
from marotte.creature.schema.base import CarriedBy, Name, Record, Word
from marotte.creature.schema.means import Means
from marotte.creature.schema.mechs import Mech
from marotte.creature.schema.quantities import Direction, Knob, Point, Position, q


class TellsAt(Record):
    """Where a function's movement is seen, so that millimetres can be shown beside degrees."""

    point: Word = "edge"
    """What shows there: incisors, edge, tip."""
    arm: Annotated[float, q(LENGTH, "R_t", "distance of the telling point from the axis", gt=0, le=2)]


class Shell(Record):
    """A lid's shell round its eye."""

    inner: Annotated[float, q(LENGTH, "R_i", "inner radius of the shell", gt=0, le=0.3)]
    thickness: Annotated[float, q(LENGTH, "t_s", "thickness of the shell", gt=0, le=0.05)]
    edge: (
        Annotated[
            float, q(ANGLE, "phi_e", "from the eye's middle to the lid's edge, with the lid at zero", gt=0, le=1.6)
        ]
        | None
    ) = None
    """Up for an upper lid, down for a lower one; absent: where two lids meet is not known."""


class Spring(Record):
    """A spring or elastic on the function itself."""

    rate: Annotated[float, q((TWIST, STIFFNESS), "k_s", "stiffness at the function", gt=0)]
    slack_at: Position = 0.0
    """The position in which it bears nothing."""


class FunctionLoad(Record):
    """What the function carries itself."""

    mass: Annotated[float, q(MASS, "m", "moving mass", ge=0, le=50, knob=Knob(low=0.5, high=1, step=1e-3, cost=3))] = (
        0.0
    )
    centre: Point = (0.0, 0.0, 0.0)
    """Centre of the moving mass from the function's axis, with the function at zero."""
    friction: Annotated[float, q((TORQUE, FORCE), "tau_0", "dry friction at the function", ge=0, le=200)] = 0.0
    damping: Annotated[float, q(DAMPING, "c", "viscous friction at the function", ge=0, le=10)] = 0.0
    inertia: Annotated[float, q(INERTIA, "J_0", "inertia about its own centre of mass", ge=0, le=10)] | None = None
    """Absent: of a point mass at the centre, with a tenth added for its size (common practice, no source)."""
    spring: Spring | None = None
    shell: Shell | None = None


class Function(Record):
    """One thing that moves: one degree of freedom."""

    pairable: ClassVar[bool] = True

    part: Name
    """A place on the anatomy: gives axis, frame, drawing, and what its positions mean."""
    side: Literal["left", "right"] | None = None
    """Of one that stands alone; ``sides: both`` makes two."""
    travel: tuple[Position, Position]
    """Range as built, from least to most."""
    neutral: Position
    """Where it sits; absent: the place in its travel nearest to zero."""
    power_off: Position
    """Where it falls unpowered; absent: neutral. A power cut is run too: where it ends elsewhere, a caution says so."""
    failsafe: Position | None = None
    """Where its servo takes it when the signal is lost and the link's ``on_loss`` is ``neutral``; absent: neutral."""
    tells_at: TellsAt | None = None
    means: Means | None = None
    """Who pushes; absent where an entry of ``mechs`` moves it."""
    mech: Mech | None = None
    """What carries the push; absent with a means: direct."""
    load: FunctionLoad = FunctionLoad()
    carried_by: CarriedBy = "skull"
    """What bears the mass."""
    at: Point | Name | None = None
    """A point on its axis; absent: of the anatomy."""
    axis: Direction | None = None
    """Absent: of the anatomy."""

    @model_validator(mode="before")
    @classmethod
    def _defaults(cls, data: Any) -> Any:
        """Fill in neutral and power-off, marked as defaults of ours."""
        if not isinstance(data, Mapping) or "travel" not in data:
            return data
        if isinstance(data, Block):
            out: Any = Block(data.origin, dict(data), dict(data.keys_at))
            out.made = data.made
        else:
            out = dict(data)
        if "neutral" not in out:
            nearest = _nearest_to_zero(out["travel"])
            if nearest is not None:
                out["neutral"] = nearest
        if "power_off" not in out and "neutral" in out:
            out["power_off"] = _redressed(out["neutral"], "default:functions/power_off")
        return out

    @model_validator(mode="after")
    def _ordered(self) -> Function:
        low, high = self.travel
        if low >= high:
            raise ValueError("travel goes from least to most; these two are equal or the wrong way round")
        for name in ("neutral", "power_off", "failsafe"):
            place = getattr(self, name)
            if place is not None and not low - 1e-9 <= place <= high + 1e-9:
                raise ValueError(f"{name} lies outside the travel")
        return self

    @property
    def on_lost_signal(self) -> float:
        """Where its servo takes it when the signal is lost, if it does not hold and has power [rad or m]."""
        return self.neutral if self.failsafe is None else self.failsafe

    @property
    def span(self) -> float:
        """The whole travel [rad or m]."""
        return self.travel[1] - self.travel[0]


def _nearest_to_zero(travel: Any) -> Any:
    if not isinstance(travel, (list, tuple)) or len(travel) != 2:
        return "0 deg"  # the travel itself is the fault; none is added for what follows from it
    values: list[float] = []
    for end in travel:
        if isinstance(end, float) and origin_of(end) is None:
            values.append(end)
            continue
        written = end.get("value") if isinstance(end, Mapping) else end
        try:
            values.append(parse(written, ANGLE, LENGTH)[1].value)
        except UnitError:
            return "0 deg"  # as above
    low, high = values
    if low <= 0.0 <= high:
        return _redressed(travel[0], "default:functions/neutral", "0 deg") if origin_of(travel[0]) else 0.0
    return _redressed(travel[0] if low > 0.0 else travel[1], "default:functions/neutral")


def _redressed(value: Any, ref: str, text: str | None = None) -> Any:
    """Return a written value as one of ours: the same text and place, another ref."""
    origin = origin_of(value)
    if origin is None:
        return value
    written = value.get("value") if isinstance(value, Mapping) else value
    return Text(text or str(written), Origin(ref=ref, place=origin.place, source=origin.source))


class JoinedMech(Record):
    """A mech that joins several means or functions: ``mechs.NAME`` as the model holds it."""

    pairable: ClassVar[bool] = True

    moves: tuple[Name, ...] = Field(min_length=1, max_length=8)
    """Functions that it moves, in the order of its outputs."""
    means: dict[Name, Means] = Field(min_length=1, max_length=4)
    """Who pushes, by the name of each input; one means may be written without a name."""
    side: Literal["left", "right"] | None = None
    """Made by sides: both; of one that stands alone, written."""
    mech: Mech
    """Its kind and lengths; in the file these stand beside ``moves``, not in a block of their own."""
