"""The whole file, after expansion."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from marotte.creature.schema.audience import AudienceOf, Limits, Show, Worn
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
    about: Word | None = None
    seed: Annotated[int, Field(ge=0, le=2**53)] = 1
    """Everything random starts here."""
    build: Build = Build()
    functions: dict[Name, Function] = Field(min_length=1)
    mechs: dict[Name, JoinedMech] = Field(default_factory=dict)
    skins: dict[Name, SkinCard] = Field(default_factory=dict)
    servos: dict[Name, ServoClass] = Field(default_factory=dict)
    supply: Supply | None = None
    masses: dict[Name, Carried] = Field(default_factory=dict)
    poses: Poses = Poses()
    brief: Brief = Brief()
    performers: dict[Name, Performer] = Field(default_factory=dict)
    controls: dict[Name, Control] = Field(default_factory=dict)
    hand_plan: dict[Word, Mix] = Field(default_factory=dict)
    """What is written is kept; absent, it is found."""
    audience: AudienceOf = AudienceOf()
    show: Show = Show()
    worn: Worn | None = None
    limits: Limits = Limits()
