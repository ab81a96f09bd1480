"""An edited line: what is kept from before makes it quick, and changes nothing, to the bit."""

from __future__ import annotations

import subprocess
import sys

import pytest

from marotte.basis.digest import digest
from marotte.creature.schema.brief import Brief, Target
from marotte.script import mouth
from marotte.script.demand import demand
from marotte.script.lines import lines
from marotte.script.score import score
from tests.script.parts import build, head, poses

SCRIPT = """INT. POST OFFICE - DAY

TANSY
(brisk)
Wipe your feet, mind the bucket, and shut the door before the weather comes in with you. [[looks at the letter, then the door]]

She stamps. Tansy looks at the letter, then looks at the door.

OUZEL
Is there anything for me?

TANSY
{}

TANSY
Ouzel with a zed. Pepper, butter, a pound of plums, a pair of boots, and maybe a map.
"""
FIRST, EDITED = (
    "There is a queue for you.",
    "There is a queue for you, and you are all of it. [[blinks twice]] What name?",
)


def played(text: str, style: str) -> str:
    brief = Brief(
        cue="TANSY", speech=style, says={"Ouzel": "UW1 Z AH0 L"},  # type: ignore[arg-type]
        looks={"letter": Target(at=(0.05, -0.3, 0.4)), "door": Target(at=(1.6, 0.1, 1.2))},
    )  # fmt: skip
    part = lines(SCRIPT.format(text), "script.fountain", brief)
    made = demand(score(part.lines, part.directions, brief, 7, part.stop), head(), poses(), build())
    return digest(made).hex()


@pytest.mark.parametrize("style", ["flap", "hits", "lips"])
def test_an_edited_line_gives_what_a_fresh_process_gives(style: str) -> None:
    before = played(FIRST, style)
    edited = played(EDITED, style)
    code = f"from tests.script.test_edited_line import EDITED, played; print(played(EDITED, {style!r}))"
    fresh = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.strip()
    assert edited == fresh
    assert played(FIRST, style) == before != edited


def test_lines_that_only_moved_in_time_are_not_blended_again() -> None:
    mouth._blended.cache_clear()
    played(FIRST, "lips")
    misses = mouth._blended.cache_info().misses
    played(EDITED, "lips")
    assert mouth._blended.cache_info().misses == misses + 1
