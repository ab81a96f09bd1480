"""Names of functions as people say them."""

from __future__ import annotations


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
