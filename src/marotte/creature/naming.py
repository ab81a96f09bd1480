"""Names of functions as people say them."""

from __future__ import annotations

from collections.abc import Sequence


def named(function: str) -> str:
    """Return a function's name as people say it: ``lid_upper_left`` is ``left upper lid``.

    >>> named("lid_upper_left"), named("jaw"), named("eye_right.a")
    ('left upper lid', 'jaw', 'right eye (a)')
    """
    function, _, rod = function.partition(".")  # an input of a mech with several: eye_left.a
    if rod:
        return f"{named(function)} ({rod})"
    words = function.split("_")
    side = ""
    if words[-1] in ("left", "right") and len(words) > 1:
        side = words.pop() + " "
    if len(words) == 2 and words[0] in ("lid", "lip", "brow") and words[1] in ("upper", "lower", "inner", "outer"):
        words.reverse()
    return side + " ".join(words)


def agrees(name: str, one: str, many: str) -> str:
    """Return the form of a verb that goes with a name: the jaw wants, the cheeks want."""
    return many if name.endswith("s") else one


def of_all(some: int, whole: int, one: str, more: str) -> str:
    """Return so many of a number of things, all of which may be one, or two.

    >>> [of_all(k, n, "servo", "servos") for k, n in ((1, 1), (2, 2), (12, 12), (8, 12))]
    ['the one servo', 'both servos', 'all 12 servos', '8 of 12 servos']
    """
    if some < whole:
        return f"{some} of {whole} {more}"
    return {1: f"the one {one}", 2: f"both {more}"}.get(whole, f"all {whole} {more}")


def pairs(names: Sequence[str]) -> dict[str, str]:
    """Return what some functions are called, both of a pair at once, with the first of each: in their order.

    >>> pairs(["lid_upper_left", "lid_upper_right", "jaw", "ear_left"])
    {'both upper lids': 'lid_upper_left', 'the jaw': 'jaw', 'the left ear': 'ear_left'}
    """
    said: dict[str, str] = {}
    for name in names:
        twin = name.replace("_left", "_right") if "_left" in name else name.replace("_right", "_left")
        both = twin != name and twin in names
        said.setdefault(f"both {many(named(name).partition(' ')[2])}" if both else f"the {named(name)}", name)
    return said


def several(names: Sequence[str]) -> str:
    """Return some functions as people say them, both of a pair at once.

    >>> several(["lid_upper_left", "lid_upper_right", "jaw", "ear_left"])
    'both upper lids, the jaw, the left ear'
    """
    return ", ".join(pairs(names))


def many(name: str) -> str:
    """Return the plural of a name as people say it: upper lids, eyes (a).

    >>> many("upper lid"), many("eye (a)"), many("cheeks")
    ('upper lids', 'eyes (a)', 'cheeks')
    """
    word, space, rest = name.partition(" (")
    return name if word.endswith("s") else f"{word}s{space}{rest}"
