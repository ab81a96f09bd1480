"""``marotte check FOLDER``: the verdict."""

from __future__ import annotations

import re
import shlex
from argparse import ArgumentParser, Namespace
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from marotte.cli.screen import Screen
from marotte.verdict.said import pair_named, to_settle, told_tests, worst_first

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from marotte.basis.contracts.finding import Finding, Remedy
    from marotte.basis.faults import BadInput
    from marotte.creature.tree import Tree
    from marotte.verdict.check import Examined

BAD: Final = 2
"""Exit code where the file has faults."""
FEW: Final = 3
"""Findings of a kind up to which each has its sentence in a dense table."""
ALIKE: Final = 0.02
"""Share by which the numbers of a pair's two sides may differ and still be said once."""
_NUMBER: Final = re.compile(r"(?<![\d:.])\d+(?:\.\d+)?(?![\d:])")
NAMED: Final = 3
"""Changes that are named where none of those tried helps."""
SHARED: Final = 3
"""Findings that are unknown for the same reason are told in one sentence from so many on."""
HELP = "say whether the creature performs, what falls short and by how much"


def arguments(parser: ArgumentParser) -> None:
    """Declare the arguments."""
    parser.add_argument("folder", metavar="FOLDER", type=Path, help="the creature folder")
    parser.add_argument("--json", action="store_true", help="print one JSON object for machines")
    parser.add_argument("--strict", action="store_true", help="exit 1 also where something is unknown")
    parser.add_argument("--remedies", action="store_true", help="look for what would help, and say what was tried")
    parser.add_argument("--all", action="store_true", help="list what performs and what does not apply, too")


def run(args: Namespace, screen: Screen) -> int:
    """Check a folder and print the verdict."""
    return checked(args.folder, screen, as_json=args.json, strict=args.strict, everything=args.all, cures=args.remedies)


def checked(
    folder: Path, screen: Screen, *, as_json: bool = False, strict: bool = False, everything: bool = False,
    cures: bool = False,
) -> int:  # fmt: skip
    """Check a folder, print the verdict, return the exit code."""
    from marotte.basis.faults import BadInput
    from marotte.creature.load import build, open_tree

    tree = open_tree(folder)
    try:
        creature = build(tree, folder)
    except BadInput as error:
        if not as_json:
            _print_rest(tree, folder, error, screen, everything=everything)
            raise
        rest = _rest_object(tree, folder, error, screen)
        if rest is None:
            raise
        screen.json(rest)
        screen.faults(error.faults)
        return BAD
    with screen.progress(f"Checking {creature.name}") as tell:
        from marotte.verdict.cells import Cache
        from marotte.verdict.check import examine, to_json

        cache = Cache()
        done = examine(creature, cache)
        found: dict[str, Sequence[Remedy]] = {}
        tried: dict[str, list[str]] = {}
        planned: tuple[str, ...] = ()
        if cures:
            from marotte.verdict.remedies import remedies, wants_remedy

            for finding in done.verdict.findings:
                if wants_remedy(finding):
                    tell(f"what helps {finding.id}")
                    found[finding.id] = remedies(
                        tree, folder, done, finding.id, cache, tried.setdefault(finding.id, [])
                    )
            if as_json:
                from marotte.verdict.remedies.plan import plan

                planned = plan(tree, folder, cache, tell).sentences
    if as_json:
        screen.json(to_json(done.verdict, done.workings, done.seconds, found, planned, done.places))
    else:
        print_verdict(done, screen, folder, everything=everything)
        _print_remedies(found, tried, screen)
    counts = done.verdict.counts
    return 1 if counts["fails"] or (strict and counts["unknown"]) else 0


def _rest_object(tree: Tree, folder: Path, error: BadInput, screen: Screen) -> dict[str, Any] | None:
    """Return the verdict of what is left without the faults of a file, with them; None where no creature is left."""
    from marotte.cli.screen import fault_object
    from marotte.creature.without import without_faults
    from marotte.verdict.check import examine, to_json

    rest = without_faults(tree, folder, error.faults)
    if rest is None:
        return None
    with screen.progress(f"Checking the rest of {rest.creature.name}"):
        done = examine(rest.creature)
    return {
        "faults": [fault_object(fault) for fault in error.faults],
        "left_out": list(rest.left_out),
        **to_json(done.verdict, done.workings, done.seconds, places=done.places),
    }


def _print_rest(tree: Tree, folder: Path, error: BadInput, screen: Screen, *, everything: bool) -> None:
    """Print the verdict of what is left without the faults of a file, where that is still a creature."""
    from marotte.basis.faults import shown_path
    from marotte.creature.without import without_faults
    from marotte.verdict.check import examine

    rest = without_faults(tree, folder, error.faults)
    if rest is None:
        return
    with screen.progress(f"Checking the rest of {rest.creature.name}"):
        done = examine(rest.creature)
    gone = "; ".join(shown_path(path) for path in rest.left_out)
    screen.say(f"The file has faults, which are told below. This is the rest, without {gone}:", style="bold")
    screen.say()
    print_verdict(done, screen, folder, everything=everything, workings=False)
    screen.say()
    screen.flush()


def print_verdict(done: Examined, screen: Screen, folder: Path, *, everything: bool, workings: bool = True) -> None:
    """Print a verdict for people: where it stands, what falls short, what it rests on."""
    from marotte.cli.grades import WORDS, graded
    from marotte.cli.notes import notes

    verdict = done.verdict
    screen.say(verdict.creature, style="bold")
    screen.say(verdict.summary)
    folded = () if everything else ("performs", "not_applicable")
    for grade in WORDS:
        found = [finding for finding in verdict.findings if finding.grade == grade]
        if found and grade not in folded:
            screen.say()
            screen.say(graded(grade, screen), style="bold")
            short = grade in ("fails", "undecided", "only_just")
            _print_findings(worst_first(found) if short else found, screen, dense=grade == "performs")
    screen.say()
    screen.say(
        ", ".join(f"{verdict.counts[grade]} {word}" for grade, word in WORDS.items() if verdict.counts[grade]) + "."
    )
    for title, lines in notes(done, everything=everything).items():
        _print_list(title, lines, screen)
    screen.say()
    inputs = verdict.inputs
    screen.say(
        f"Rests on {inputs['measured']} values measured or decided, {inputs['datasheet']} of data sheets, "
        f"{inputs['typical']} typical and {inputs['guess']} guessed. Stock {verdict.stock}, Marotte {verdict.version}."
    )
    example = min(verdict.findings, key=lambda finding: list(WORDS).index(finding.grade), default=None)
    if example is not None and workings:
        screen.say(f"The working of a finding: marotte why {shlex.quote(str(folder))} {example.id}")
    if not everything:
        parts = ", and every part of what is cut short above" if any(item.more for item in verdict.told) else ""
        screen.say(f"What performs is listed with --all{parts}.")


def _print_findings(findings: Sequence[Finding], screen: Screen, *, dense: bool = False) -> None:
    """Print findings of one grade as a table, and below it the tests that settle them, each once.

    A dense table leaves out sentences that only say again what stands in the columns, where many findings are of a kind.
    """
    from marotte.cli.grades import margin, sides

    many = {name for name, count in Counter(finding.requirement for finding in findings).items() if count > FEW}
    rows: list[list[str]] = []
    findings, shared = _apart(findings)
    for finding in findings:
        needed, has = sides(finding, screen)
        bare = dense and finding.requirement in many and bool(has)
        if _said_of_the_other_side(finding, findings, bare=bare):
            continue
        rows.append(
            [_name(finding, findings, bare=bare), needed, has, margin(finding), "" if bare else finding.sentence]
        )
    if rows:
        screen.table(("finding", "needs", "has", "margin", ""), rows, right=(1, 2))
    for sentence, alike in shared.items():
        alike_names = [
            _name(item, alike, bare=False) for item in alike if not _said_of_the_other_side(item, alike, bare=False)
        ]
        screen.item(f"{sentence} {len(alike)} findings rest on that: {', '.join(alike_names)}.")
    tests = to_settle(findings)
    if tests:
        screen.say()
    for names, own in tests.items():
        for line in told_tests(names, own):
            screen.say(line)


def _apart(findings: Sequence[Finding]) -> tuple[list[Finding], dict[str, list[Finding]]]:
    """Return what is said one by one, and by their sentence those that cannot be computed for one and the same reason."""
    unknown: dict[str, list[Finding]] = {}
    for finding in findings:
        if finding.grade == "unknown":
            unknown.setdefault(finding.sentence, []).append(finding)
    shared = {sentence: alike for sentence, alike in unknown.items() if len(alike) >= SHARED}
    return [item for item in findings if item.grade != "unknown" or item.sentence not in shared], shared


def _in_vain(tried: Sequence[str]) -> str:
    """Return that nothing helps, with what was tried and refused by a full check."""
    if not tried:
        return "nothing that is known here: no length, class, place or pose in the file bears on it far enough"
    rest = f"; {len(tried) - NAMED} more were tried" if len(tried) > NAMED else ""
    return f"nothing: it was tried to {', to '.join(dict.fromkeys(tried[:NAMED]))}{rest}, and either it is not enough or something else fails"


def _print_remedies(found: Mapping[str, Sequence[Remedy]], tried: Mapping[str, Sequence[str]], screen: Screen) -> None:
    from marotte.verdict.remedies.words import worsened

    said: dict[tuple[str, ...], list[str]] = {}
    for finding, cures in found.items():
        lines = tuple(f"{cure.sentence} {worsened(cure)}".rstrip() for cure in cures) or (_in_vain(tried[finding]),)
        names = said.setdefault(lines, [])
        left = finding.replace("_right.", "_left.")
        if left != finding and left in names:
            names[names.index(left)] = pair_named(left)
        else:
            names.append(finding)
    for lines, names in said.items():
        screen.say()
        screen.say(f"What helps {' and '.join(names)}", style="bold")
        for line in lines:
            screen.item(line)


def _name(finding: Finding, findings: Sequence[Finding], *, bare: bool) -> str:
    """Return a finding's name; one that stands for both sides says so."""
    both = any(_said_of_the_other_side(other, [finding], bare=bare) for other in findings)
    return pair_named(finding.id) if both else finding.id


def _said_of_the_other_side(finding: Finding, findings: Sequence[Finding], *, bare: bool) -> bool:
    """Whether a right-hand finding says what the left-hand one among some findings has said already.

    A bare one says no more than its numbers.
    """
    from marotte.basis.contracts.common import Quantity

    left = finding.id.replace("_right.", "_left.")
    twin = next((other for other in findings if other.id == left), None)
    if left == finding.id or twin is None:
        return False
    if bare and isinstance(finding.has, Quantity) and isinstance(twin.has, Quantity):
        pairs = ((finding.needed.value, twin.needed.value), (finding.has.value, twin.has.value))
        return all(_near(a, b) for a, b in pairs)
    return _as_much(twin.sentence.replace("right", "left"), finding.sentence.replace("right", "left"))


def _as_much(one: str, other: str) -> bool:
    """Whether two sentences say the same, with numbers that nobody would tell apart; times of the part are not rounded."""
    if _NUMBER.sub("#", one) != _NUMBER.sub("#", other):
        return False
    pairs = zip(_NUMBER.findall(one), _NUMBER.findall(other), strict=True)
    return all(_near(float(a), float(b)) for a, b in pairs)


def _near(one: float, other: float) -> bool:
    return abs(one - other) <= ALIKE * max(abs(one), abs(other))


def _print_list(title: str, lines: Sequence[str], screen: Screen) -> None:
    if not lines:
        return
    screen.say()
    screen.say(title, style="bold")
    for line in dict.fromkeys(lines):
        screen.item(line)
