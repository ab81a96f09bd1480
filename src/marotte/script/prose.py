"""Action is prose: which of its sentences are about the creature, by its name or by the pronoun that the script uses for it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise
from typing import Final

from marotte.basis.contracts.script import Direction
from marotte.script.doings import SENTENCE

_PRONOUNS: Final = {
    "she": "she",
    "her": "she",
    "he": "he",
    "his": "he",
    "it": "it",
    "its": "it",
    "they": "they",
    "their": "they",
}

_LEADS: Final = frozenset("then and but so now again still meanwhile".split())  # noqa: SIM905
"""Words that may stand before the subject of a sentence, beside those in -ly."""


def of_action(directions: Sequence[Direction], cue: str) -> list[tuple[Direction, str, int]]:
    """Return (action, sentence, its place in the action) for what the creature itself does in action."""
    name = cue.strip().lower()
    sentences: list[tuple[Direction, str, int, str]] = []
    for direction in directions:
        if direction.kind != "action":
            continue
        for place, found in enumerate(SENTENCE.findall(direction.text)):
            text = found.strip()
            if text:
                sentences.append((direction, text, place, _subject(text, name)))
    votes: dict[str, int] = {}
    for before, (_, _, _, subject) in pairwise(sentences):
        if before[3] == "us" and subject in _PRONOUNS.values():
            votes[subject] = votes.get(subject, 0) + 1
    mine = max(sorted(votes), key=lambda p: votes[p]) if votes else ""
    out: list[tuple[Direction, str, int]] = []
    named = ""
    action: Direction | None = None
    for direction, text, place, subject in sentences:
        if direction is not action:
            action, named = direction, ""
        if subject in ("us", "other"):
            named = subject
        if subject == "us" or (
            subject in _PRONOUNS.values() and named != "other" and (subject == mine if mine else named == "us")
        ):
            out.append((direction, text, place))
    return out


def _subject(sentence: str, name: str) -> str:
    """Return who a sentence is about: "us", a pronoun, "other" for somebody else named, or "" for a thing."""
    words = re.findall(r"[\w'’-]+", sentence)
    while len(words) > 1 and (words[0].lower() in _LEADS or words[0].lower().endswith("ly")):
        words = words[1:]  # "Then she ...", "Slowly, Tansy ..."
    first = [re.sub(r"['’]s?$", "", word.lower()) for word in words[:6]]
    own = name.split()
    if own and any(first[k : k + len(own)] == own for k in range(2)):
        return "us"
    if first and first[0] in _PRONOUNS:
        return _PRONOUNS[first[0]]
    if words and words[0][:1].isupper() and len(words) > 1:
        thing = first[0] in ("the", "a", "an", "in", "on", "at", "there")
        if (words[0].isupper() and len(words[0]) > 1) or (not thing and re.fullmatch(r"[a-z]+s", words[1])):
            return "other"
    return ""
