"""The whole file, after expansion."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from marotte.creature.schema.audience import AudienceOf, Limits, Shop, Show, Worn
from marotte.creature.schema.base import Name, Record, Word
from marotte.creature.schema.brief import Brief
from marotte.creature.schema.build import Build, Carried
from marotte.creature.schema.functions import Function, JoinedMech
from marotte.creature.schema.people import Control, Mix, Performer
from marotte.creature.schema.poses import Poses
from marotte.creature.schema.servos import ServoClass
from marotte.creature.schema.skins import SkinCard
from marotte.creature.schema.supply import Supply

FILE_VERSION = 1


class CreatureFile(Record):
    """creature.yaml."""

    marotte: int = FILE_VERSION
    """Version of this file's schema."""
    stock: Word
    """Edition of the stock values; a newer one is taken only by ``marotte upgrade``."""
    name: Word
    """What the creature is called."""
    about: Word | None = None
    """Species, trade, what kind of build it is."""
    seed: Annotated[int, Field(ge=0, le=2**53)] = 1
    """Everything random starts here."""
    build: Build = Build()
    functions: dict[Name, Function] = Field(min_length=1)
    """What moves, one degree of freedom each."""
    mechs: dict[Name, JoinedMech] = Field(default_factory=dict)
    """Mechs that join several means or functions."""
    skins: dict[Name, SkinCard] = Field(default_factory=dict)
    """Skins with the functions that hold them."""
    servos: dict[Name, ServoClass] = Field(default_factory=dict)
    """Servos of this creature; classes of the stock need no entry."""
    supply: Supply | None = None
    """Battery, leads, link. Needed where there are servos."""
    masses: dict[Name, Carried] = Field(default_factory=dict)
    """Masses that no function and no servo has."""
    poses: Poses = Poses()
    brief: Brief = Brief()
    performers: dict[Name, Performer] = Field(default_factory=dict)
    """The people who play it."""
    controls: dict[Name, Control] = Field(default_factory=dict)
    """What their fingers, hands and feet move."""
    hand_plan: dict[Word, Mix] = Field(default_factory=dict)
    """What is written is kept; absent, it is found."""
    audience: AudienceOf = AudienceOf()
    show: Show = Show()
    worn: Worn | None = None
    """What someone inside wears."""
    limits: Limits = Limits()
    shop: Shop = Shop()
    """Prices and hours of your own shop; they win over the stock's."""
