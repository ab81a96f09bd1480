"""Changes of what is asked of a creature: a slower pace, a plainer way of speaking, milder moods. All of them ask the director."""

from __future__ import annotations

from typing import Final

from marotte.basis.units import number_text
from marotte.creature.anatomy import PARTS
from marotte.creature.edit import value_at
from marotte.creature.naming import named
from marotte.verdict.remedies.proposal import AT_SERVO, Case, Proposal, once, plain

AT_MOUTH: Final = frozenset({"drive", "lag", "hits", "closures"})
SLOWER: Final = (0.9, 0.8)
SMALLER: Final = (0.75, 0.5)
NEXT_SPEECH: Final = {"lips": "hits", "hits": "flap"}


def slower_pace(case: Case) -> tuple[Proposal, ...]:
    """Fewer syllables a second, where no recording fixes them."""
    brief = case.creature.brief
    if not _speaks(case) or case.creature.recordings or not brief.ref("").startswith("/"):
        return ()
    out = []
    for share in SLOWER:
        pace = round(brief.pace.syllables * share, 1)
        written = brief.pace.ref("").startswith("/")
        path, to = (
            ("/brief/pace/syllables", f"{pace:g} /s") if written else ("/brief/pace", {"syllables": f"{pace:g} /s"})
        )
        text = f"speak slower, {brief.pace.syllables:g} -> {pace:g} syllables a second"
        then = "the part lasts longer, and its performer must be able to hold it"
        out.append(Proposal(edits=(case.edit(path, to),), says=text, then=then, cost=3.0 + 1.0 - share, asks=True))
    return tuple(out)


def fewer_hits(case: Case) -> tuple[Proposal, ...]:
    """A plainer way of speaking."""
    speech = case.creature.brief.speech
    if not _speaks(case) or speech not in NEXT_SPEECH or not case.creature.brief.ref("").startswith("/"):
        return ()
    plainer = NEXT_SPEECH[speech]
    text = f"play the mouth as {plainer} instead of {speech}: fewer openings, the stressed ones kept"
    then = "lip closures are no longer claimed" if speech == "lips" else "stress is no longer seen"
    return (Proposal(edits=(case.edit("/brief/speech", plainer),), says=text, then=then, cost=3.5, asks=True),)


def _speaks(case: Case) -> bool:
    if case.finding.requirement not in AT_MOUTH:
        return False
    parts = {
        PARTS[case.creature.functions[name].part].group
        for mech in case.mechs
        for name in case.creature.mechs[mech].outputs
    }
    return "mouth" in parts


def milder_moods(case: Case) -> tuple[Proposal, ...]:
    """A function that goes less far in every mood."""
    if case.finding.requirement not in AT_SERVO:
        return ()
    out = []
    for name in sorted({name for mech in case.mechs for name in case.creature.mechs[mech].outputs}):
        stem = plain(name)
        for share in SMALLER:
            edits = []
            for mood, pose in case.creature.poses.moods.items():
                for written in (name, stem):
                    path = f"/poses/moods/{mood}/{written}"
                    if name in pose and isinstance(value_at(case.tree, path), (str, int, float)):
                        edits.append(case.edit(path, f"{number_text(100 * share * pose[name], 3)} %"))
                        break
            if edits:
                text = f"let the {named(stem)} go {100 * share:.0f} % as far in its moods"
                then = "a smaller move is read later: ask the director"
                out.append(Proposal(edits=tuple(edits), says=text, then=then, cost=3.0 + 1.0 - share, asks=True))
    return once(out)
