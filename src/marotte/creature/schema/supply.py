"""The supply: a tree from the battery to every servo, and the link that carries the signal."""

from __future__ import annotations

from typing import Annotated, Literal, TypeAlias

from pydantic import Field

from marotte.basis.units import CHARGE, CURRENT, LENGTH, MASS, RATIO, RESISTANCE, TIME, VOLTAGE
from marotte.creature.schema.base import CarriedBy, Name, Record
from marotte.creature.schema.quantities import Knob, Point, q

Resistance = Annotated[float, q(RESISTANCE, "R_b", "inner resistance", ge=0, le=100)]
Capacity = Annotated[float, q(CHARGE, "Q", "capacity", gt=0, le=1e7)]
Volts = Annotated[float, q(VOLTAGE, "U", "voltage", gt=0, le=60, knob=Knob(low=0.8, high=1.3, step=0.1, cost=2))]
Amps = Annotated[float, q(CURRENT, "I_max", "current limit", gt=0, le=500, chosen=True)]


class Cells(Record):
    """A pack of cells."""

    kind: Literal["lithium_polymer", "lithium_iron", "nickel_metal"]
    """Chemistry."""
    cells: Annotated[int, Field(ge=1, le=20)]
    """In series."""
    capacity: Capacity
    resistance: Resistance
    """Of the whole pack."""
    limit: Amps | None = None
    usable: Annotated[float, q(RATIO, "k_u", "share of the capacity that may be used", gt=0, le=1)] = 0.8
    spares: Annotated[int, Field(ge=0, le=100)] = 0
    """Packs beside the one in use."""
    mass: Annotated[float, q(MASS, "m_b", "mass of the pack", gt=0, le=50)] | None = None
    carried_by: CarriedBy | None = None
    """What bears the mass."""
    at: Point | None = None
    """Where the middle of the pack sits, for the balance of what bears it."""


class Mains(Record):
    """A fixed supply: it does not run down."""

    kind: Literal["bench"]
    volts: Volts
    resistance: Resistance = 0.0
    limit: Amps


class Regulator(Record):
    """A regulator at the start of a lead."""

    kind: Literal["switching", "linear"] = "switching"
    """switching keeps power, linear burns the rest."""
    volts: Volts
    limit: Amps
    drop: Annotated[float, q(VOLTAGE, "U_d", "least voltage across it", ge=0, le=10)] = 0.5
    efficiency: Annotated[float, q(RATIO, "eta", "efficiency", gt=0.05, le=1)] = 0.88
    resistance: Annotated[float, q(RESISTANCE, "R_o", "output resistance", ge=0, le=10)] = 0.0


class Lead(Record):
    """A pair of wires from one place of the tree to the next."""

    fed_by: Name
    """The battery, or another lead."""
    awg: Annotated[int, Field(ge=0, le=40)]
    """Wire gauge, ASTM B258."""
    length: Annotated[float, q(LENGTH, "L", "length, one way", gt=0, le=100)]
    fuse: Annotated[float, q(CURRENT, "I_f", "rating of its fuse", gt=0, le=500, chosen=True)] | None = None
    regulator: Regulator | None = None


class Link(Record):
    """What carries the signal from control to servo."""

    kind: Literal["wire", "radio"] = "wire"
    """What carries the signal."""
    delay: Annotated[float, q(TIME, "t_l", "delay of the link", ge=0, le=1)] = 0.0
    on_loss: Literal["hold", "neutral", "power_off"] = "hold"
    """What every function does when the signal is lost: hold, go to its ``failsafe`` place (absent: neutral), or lose power."""
    start: Literal["together", "staggered"] = "together"
    """Whether all servos start at once."""


Battery: TypeAlias = Annotated[Cells | Mains, Field(discriminator="kind")]


class Supply(Record):
    """The whole tree."""

    battery: Battery
    leads: dict[Name, Lead] = Field(default_factory=dict)
    link: Link = Link()
