"""What a verdict is made of: steps, workings, findings, edits, remedies."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum
from typing import Any, Literal, TypeAlias, get_args

from marotte.basis.contracts.common import Quantity, Told, Unknown
from marotte.basis.contracts.fit import MassSheet
from marotte.basis.given import Ref, Source

Grade: TypeAlias = Literal["performs", "only_just", "fails", "undecided", "unknown", "not_applicable"]
GRADES: tuple[Grade, ...] = get_args(Grade)
RuleKind: TypeAlias = Literal["at_least", "at_most", "share", "yes_no"]
StepKind: TypeAlias = Literal["given", "published", "rule", "read", "worked"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One line of a working."""

    symbol: str
    meaning: str
    kind: StepKind
    unit: str
    result: float
    formula: str = ""
    """worked: a plain expression over earlier symbols; ``result`` is its evaluation."""
    values: dict[str, float]
    """The earlier symbols that the formula reads."""
    source: str = ""
    """A Ref; a citation; or "drive.worst.torque[jaw] at 0:41.3"."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Working:
    """How one number came about; its last step is the finding's number."""

    steps: tuple[Step, ...]
    method: str
    """"mech/four_bar@1": page in docs/methods and method number."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Settle:
    """What helps to settle an undecided grade."""

    inputs: tuple[Ref, ...]
    """That it measures."""
    test: str
    """A ten-minute test in the shop, with the field to type its numbers into."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Marks:
    """What made a grade: the margins from which it holds, and the numbers that these come to."""

    rule: RuleKind
    performs: float | None
    """Margin from which it performs; None of yes or no."""
    only_just: float | None
    performs_at: float | None
    """What the design must have for it, in the unit of ``has``; None of yes or no."""
    only_just_at: float | None
    why: str
    """Where the margins come from."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Decides:
    """What decides a finding where it is not the number that is graded: the speed of a servo with torque enough."""

    what: str
    """"speed"."""
    needed: Quantity
    has: Quantity
    margin: float
    band: tuple[float, float] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One requirement about one subject."""

    id: str
    """"jaw.drive"."""
    about: str
    requirement: str
    grade: Grade
    needed: Quantity
    has: Quantity | Unknown
    margin: float | None
    """By the requirement's own rule; None where unknown or yes/no."""
    band: tuple[float, float] | None
    """Margin at the ends of the spread of what it rests on."""
    at: int | None
    """The tick at which it is worst."""
    sentence: str
    rests_on: frozenset[Ref]
    worst_source: Source
    key: str
    decides: Decides | None = None
    """None where the number that is graded decides."""
    marks: Marks | None = None
    """None where not even what is needed is known."""
    settle: tuple[Settle, ...] = ()
    """Of an undecided grade: the tests that settle it together, what moves it most first."""
    odds: float | None = None


class Absent(Enum):
    """Stands for a key that is not written."""

    ABSENT = "absent"


ABSENT = Absent.ABSENT


@dataclass(frozen=True, slots=True, kw_only=True)
class Edit:
    """One change of the written file; ``from_`` is tested before applying, as RFC 6902 ``test``.

    ABSENT as ``from_`` adds the key, as ``to`` takes it out.
    """

    path: Ref
    from_: Any
    to: Any
    at: int | None = None
    """Place among the keys of its block to which one that was taken out goes back; None: the end."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Remedy:
    """A change that was tried."""

    edits: tuple[Edit, ...]
    finding: str
    before: float | None
    after: float | None
    grade: Grade
    worsens: tuple[str, ...]
    cost: float
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """A hazard with its usual advice; never a grade, never a permission."""

    id: str
    about: str
    sentence: str
    advice: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """Where the creature stands."""

    creature: str
    grade: Grade
    summary: str
    counts: dict[Grade, int]
    findings: tuple[Finding, ...]
    cautions: tuple[Caution, ...]
    told: tuple[Told, ...]
    plan: tuple[str, ...]
    inputs: dict[Source, int]
    key: str
    methods: dict[str, int]
    stock: str
    version: str
    masses: MassSheet = field(compare=False)
    """What each carrier bears, line by line; its content is part of ``key``."""
