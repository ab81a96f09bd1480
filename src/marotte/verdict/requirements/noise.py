"""noise: a rank, loud or quiet, moving or holding, against a live voice or a playback."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from marotte.basis.contracts.common import Quantity, Unknown
from marotte.basis.contracts.finding import Grade
from marotte.creature.naming import named, of_all
from marotte.creature.schema.brief import Brief
from marotte.creature.schema.means import Servo
from marotte.creature.schema.servos import ServoClass
from marotte.verdict.margins import Rule, Thresholds
from marotte.verdict.requirements.base import Found, NotClaimed, Requirement, Said
from marotte.verdict.requirements.drive import servo_mechs
from marotte.verdict.requirements.hold import MOST
from marotte.verdict.workings import PRACTICE, Writer

if TYPE_CHECKING:
    from marotte.creature.creature import Creature
    from marotte.verdict.graph import Results

RANKS: Final = {"quiet": 0, "plain": 1, "loud": 2}
LIVE: Final = 2
PLAYED_BACK: Final = 4
"""Highest rank that is borne, and then only just: under a live voice on the stage, and under a playback that covers all."""
WORDS: Final = ("quiet", "plain", "loud", "loud and whining", "any")


@dataclass(frozen=True, slots=True)
class Args:
    """What the requirement reads."""

    brief: Brief
    loudest: str
    servo: ServoClass
    holds: bool
    """Whether any servo whines in a silence: it holds more than a hold's share of its stall at neutral."""
    holding: str
    loud: int
    count: int
    apart: str
    """The performer who gives the voice from elsewhere, so that it comes out of a speaker; empty where none does."""
    recorded: bool
    """Whether a camera watches, so that the voice can be put on later."""

    @property
    def rank(self) -> int:
        """0 quiet, 1 plain, 2 loud; one more where it whines while it holds."""
        return RANKS[self.servo.noise] + self.holds

    @property
    def borne(self) -> int:
        """The rank that this voice covers."""
        return PLAYED_BACK if self.brief.voice == "playback" else LIVE


def _gather(creature: Creature, results: Results, about: str) -> Args | Unknown | NotClaimed:
    mechs = servo_mechs(creature)
    if not mechs:
        return NotClaimed(why="no servo, so nothing whirrs")
    models = {name: means.model for name, means in creature.means.items() if isinstance(means, Servo)}
    loudest = max(models, key=lambda name: (RANKS[creature.servos[models[name]].noise], name))
    loud = sum(creature.servos[model].noise == creature.servos[models[loudest]].noise for model in models.values())
    whine = whining(creature, results)
    holding = max(whine, key=lambda name: whine[name], default="")
    apart = next((name for name, who in creature.performers.items() if who.voice and who.posture == "remote"), "")
    filmed = creature.audience.camera is not None
    return Args(
        creature.brief,
        loudest,
        creature.servos[models[loudest]],
        bool(whine),
        holding,
        loud,
        len(models),
        apart,
        filmed,
    )


def whining(creature: Creature, results: Results) -> dict[str, float]:
    """Return the mechanisms whose servos whine in a silence, with the share of their real stall that they hold at neutral."""
    out: dict[str, float] = {}
    for name in servo_mechs(creature):
        poses = results.held.get(name)
        share = max((point.torque / point.has for point in poses[0]), default=0.0) if isinstance(poses, tuple) else 0.0
        if share > MOST:
            out[name] = share
    return out


def _find(args: Args) -> Found:
    return Found(
        needed=Quantity(value=float(args.borne), unit="1", word=WORDS[args.borne]),
        has=Quantity(value=float(args.rank), unit="1", word=_word(args)),
    )


def _word(args: Args) -> str:
    return f"{args.servo.noise} and whining" if args.holds else args.servo.noise


def _work(w: Writer, args: Args, found: Found) -> None:
    w.need(w.rule("n_max", f"rank that is still borne with the voice {args.brief.voice}", args.borne, "1", PRACTICE))
    rank = w.read(
        "n_s", f"rank of the loudest servo ({args.servo.noise})", args.servo.ref("noise"), RANKS[args.servo.noise], "1"
    )
    holds = w.read(
        "n_h", "one more where a servo whines while it holds", "verdict: hold at neutral", int(args.holds), "1"
    )
    w.worked("n", "rank of the noise", f"{rank} + {holds}", "1")


def _say(args: Args, found: Found, grade: Grade) -> Said:
    live = f"the live voice of the {named(args.apart)} performer out of a speaker" if args.apart else ""
    voice = {
        "own": live or "the performer's own live voice", "other": live or "another's live voice", "playback": "a playback",
    }[args.brief.voice]  # fmt: skip
    are = "is" if args.loud == 1 else "are"
    text = f"{of_all(args.loud, args.count, 'servo', 'servos')} {are} {args.servo.noise}, under {voice}"
    whine = f"; the {named(args.holding)} whines while it holds at neutral" if args.holds else ""
    cures = ["slower ramps", "soft mounts", "no load at neutral", "servos off the head"]
    cures += ["a louder speaker"] if live and args.brief.voice != "playback" else []
    cures += ["revoice later"] if args.recorded else []
    cure = "" if grade == "performs" else f": {', '.join(cures[:-1])}, or {cures[-1]}"
    return Said(sentence=f"{text[0].upper()}{text[1:]}{whine}{cure}.", clause=text + whine)


NOISE = Requirement(
    name="noise",
    number=3,
    asks="The servos are quiet enough for the voice that is heard with them: a rank, since few levels are ever measured.",
    unit="1",
    rule=Rule("at_most", scale=1.0),
    thresholds=Thresholds(
        1.0, 0.0,
        "Under a live voice plain servos are borne, loud ones (or plain ones that whine while they hold) only just, and loud ones that "
        "whine are not; a playback covers all (common practice, no source).",
    ),
    method="noise",
    subjects=lambda creature: ["noise"],
    gather=_gather,
    find=_find,
    work=_work,
    say=_say,
    example="noise",
    weight=0.3,
)  # fmt: skip
