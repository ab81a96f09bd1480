"""Any part at all: lines, directions and creatures drawn at random give a demand that is sound and meets its own hits."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from marotte.basis.contracts.script import Direction, Spoken
from marotte.creature.schema.brief import Brief, Business, Target
from marotte.script.business import FORMS
from marotte.script.demand import demand
from marotte.script.score import score
from tests.script.met import met
from tests.script.parts import WORDS, build, head, poses, slide, spoken, turn

LOOKS = {
    "lens": Target(at=(0.0, 0.0, 2.4)), "letter": Target(at=(0.05, -0.3, 0.4)), "door": Target(at=(1.6, 0.1, 1.2)),
    "floor": Target(at=(0.0, -1.5, 0.3)), "behind": Target(at=(0.2, 0.0, -2.0)),
}  # fmt: skip
TEXTS = [
    *FORMS, *(f"looks at the {name}" for name in LOOKS), "to the lens", "looks away", "looks up", "warily", "beat", "sings", "",
    "nods; stamps then blinks twice", "keeps still for four seconds", "ears back and keeps still",
]  # fmt: skip
MOODS = ["", "wary", "delighted", "surprise", "unheard_of"]


@st.composite
def parts(draw: st.DrawFn) -> tuple[tuple[Spoken, ...], tuple[Direction, ...]]:
    """A part of up to five lines with up to eight directions anywhere."""
    lines: list[Spoken] = []
    at = draw(st.floats(0.0, 3.0))
    for number in range(1, draw(st.integers(0, 5)) + 1):
        words = draw(st.lists(st.sampled_from(sorted(WORDS)), min_size=0, max_size=6))
        made = spoken(" ".join(words), at, number, draw(st.floats(0.03, 0.15)), draw(st.sampled_from(MOODS)))
        lines.append(made)
        at = made.stop / 1200 + draw(st.floats(0.0, 6.0))
    directions = [
        Direction(
            kind=draw(st.sampled_from(["note", "parenthetical", "action"])), text=draw(st.sampled_from(TEXTS)),
            line=draw(st.integers(0, 7)), word=draw(st.integers(0, 9)), tick=draw(st.integers(-1, 40_000)), file_line=3,
        )
        for _ in range(draw(st.integers(0, 8)))
    ]  # fmt: skip
    return tuple(lines), tuple(directions)


def creature(kind: str) -> dict:
    """Heads of three kinds: a full one, fixed eyes and a beak, a body without a face."""
    if kind == "face":
        return head() | {"breath": slide("breath", 0, 15), "arm": turn("arm", 0, 60), "hop": slide("hop", 0, 60)}
    if kind == "beak":
        return {
            "beak": turn("beak", 0, 35), "head_turn": turn("head_turn", -60, 60), "head_nod": turn("head_nod", -50, 40),
            "lid_upper": turn("lid_upper", 0, 90), "tail": turn("tail", -10, 80),
        }  # fmt: skip
    return {"body_tip": turn("body_tip", -10, 25), "tail": turn("tail", -10, 80)}


@given(
    parts(), st.sampled_from(["flap", "hits", "lips"]), st.sampled_from(["own", "playback"]),
    st.sampled_from(["face", "beak", "body"]), st.integers(0, 3),
)  # fmt: skip
@settings(deadline=None, max_examples=150)
def test_any_part_is_sound_and_meets_what_it_asks(
    part: tuple[tuple[Spoken, ...], tuple[Direction, ...]], style: str, voice: str, kind: str, seed: int
) -> None:
    lines, directions = part
    brief = Brief(
        cue="TANSY", speech=style, voice=voice, looks=LOOKS, moods={"warily": "wary"},  # type: ignore[arg-type]
        business=(Business(line=2, do="tail up"), Business(line=0, do="nods")),
    )  # fmt: skip
    functions = creature(kind)
    got = demand(score(lines, directions, brief, seed), functions, poses(), build())
    values = got.motion.values
    assert np.isfinite(values).all()
    for row, function in enumerate(functions.values()):
        assert function.travel[0] - 1e-6 <= values[row].min() <= values[row].max() <= function.travel[1] + 1e-6
    assert got.windows[0].start == 0
    assert got.windows[-1].stop == got.motion.stop
    assert all(a.stop == b.start for a, b in pairwise(got.windows))
    assert all(0 < w.stop - w.start <= 14_400 for w in got.windows)
    assert len({w.id for w in got.windows}) == len(got.windows)
    assert len({h.id for h in got.hits}) == len(got.hits)
    out_of_reach = {t.line for t in got.told if t.code == "look.out_of_reach"}
    missed = [h.id for h in got.hits if not met(h, got.motion) and not (h.kind == "landed" and h.line in out_of_reach)]
    assert missed == []
