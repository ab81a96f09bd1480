"""Which recording holds which lines, and the results kept on disk, so that a recording is heard once.

A recording's name says what it holds: ``12``, ``line-12``, ``tansy_012-take2`` is line 12; ``12-15`` are lines 12 to 15; a name
without a number is the whole part. Where two hold the same line, the one that holds fewer lines is used, then the later name; a
name that begins with ``scratch`` gives way to any other.
"""

from __future__ import annotations

import json
import os
import re
import sys
import tempfile
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from hashlib import blake2b
from importlib import metadata
from pathlib import Path
from typing import Any, Final

from marotte.basis.contracts.common import Told
from marotte.basis.faults import Fault
from marotte.script import METHODS
from marotte.script.align import HeardLine, Hearing, Wanted, hear
from marotte.script.timing import TimedPhone
from marotte.script.voices import read_voice

_NUMBERED: Final = re.compile(r"(?:^|.*?[^0-9])0*(\d{1,5})(?:\s*(?:-|–|_|to)\s*0*(\d{1,5}))?\Z")
_TAKE: Final = re.compile(r"[\s_-]*(?:take|tk|t)[\s_-]*\d+\Z", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Heard:
    """What all recordings hold."""

    lines: dict[int, HeardLine]
    told: tuple[Told, ...] = ()
    faults: tuple[Fault, ...] = ()


def holds(stem: str, count: int) -> tuple[int, int] | None:
    """Return the (first, last) line that a recording of this name holds, of ``count`` lines; None if there are none such.

    >>> holds("tansy_012-take2", 40), holds("12-15", 40), holds("whole part", 40), holds("99", 40)
    ((12, 12), (12, 15), (1, 40), None)
    """
    match = _NUMBERED.match(_TAKE.sub("", stem.strip()))
    if match is None:
        return (1, count) if count else None
    first = int(match[1])
    last = int(match[2]) if match[2] else first
    first, last = max(min(first, last), 1), min(max(first, last), count)
    return (first, last) if first <= last else None


def hear_all(
    recordings: Mapping[str, Path],
    wanted: Mapping[int, Wanted],
    folder: Path | None = None,
    progress: Callable[[str], None] | None = None,
) -> Heard:
    """Return every line that some recording holds.

    Args:
        recordings: stem -> file.
        wanted: line number -> what to listen for.
        folder: where results are kept; None is the user's cache folder. One that cannot be written is passed over.
        progress: called with a recording's name before it is heard (it may take seconds).
    """
    count = max(wanted, default=0)
    told: list[Told] = []
    failed: list[tuple[Fault, tuple[int, int]]] = []
    order: list[tuple[bool, int, str, tuple[int, int]]] = []
    for stem in sorted(recordings):
        span = holds(stem, count)
        if span is None:
            name = _name(recordings[stem])
            told.append(Told(code="voice", sentence=f"{name} is of no line: the part has {count}"))
        else:
            order.append((not stem.startswith("scratch"), span[0] - span[1], stem, span))
    lines: dict[int, HeardLine] = {}
    for _, _, stem, (first, last) in sorted(
        order
    ):  # scratch and the widest first, so that others take their lines over
        path = recordings[stem]
        if progress is not None:
            progress(_name(path))
        asked = {n: wanted[n] for n in range(first, last + 1) if n in wanted}
        got = _heard(path, asked, cache_folder() if folder is None else folder)
        if isinstance(got, Fault):
            failed.append((got, (first, last)))
            continue
        told += got.told
        lines.update(got.lines)
    faults = tuple(
        _by_rule(fault, [n for n in range(first, last + 1) if n in wanted and n not in lines])
        for fault, (first, last) in failed
    )
    return Heard(lines=dict(sorted(lines.items())), told=tuple(told), faults=faults)


def _by_rule(fault: Fault, lines: Sequence[int]) -> Fault:
    """Return the fault of a recording with what becomes of its lines."""
    if not lines:
        return fault
    many = f"line {lines[0]} is" if len(lines) == 1 else f"{len(lines)} lines from line {lines[0]} are"
    return replace(fault, what=f"{fault.what}; {many} timed by rule")


def _name(path: Path) -> str:
    return f"{path.parent.name}/{path.name}" if path.parent.name else path.name


def _heard(path: Path, asked: Mapping[int, Wanted], folder: Path) -> Hearing | Fault:
    name = _name(path)
    try:
        file = folder / f"{_key(path, name, asked)}.json"
    except OSError as error:
        return Fault(code="voice", what=f"{name}: the recording cannot be opened: {error.strerror or error}")
    kept = _load(file, name)
    if kept is not None:
        return kept
    voice = read_voice(path, name)
    if isinstance(voice, Fault):
        return voice
    got = hear(voice, [asked[n] for n in sorted(asked)])
    _save(file, got)
    return got


def _key(path: Path, name: str, asked: Mapping[int, Wanted]) -> str:
    out = blake2b(digest_size=16)
    with path.open("rb") as file:
        while block := file.read(1 << 20):
            out.update(block)
    words = [
        [
            n,
            [s.word for s in w.said],
            [s.written for s in w.said],
            [s.pause for s in w.said],
            [[x.phones, x.stress, x.weak] for x in w.words],
        ]
        for n, w in sorted(asked.items())
    ]
    out.update(json.dumps([name, METHODS["script/alignment"], metadata.version("pocketsphinx"), words]).encode())
    return out.hexdigest()


def cache_folder() -> Path:
    """Return the folder for results that can be made again: MAROTTE_CACHE, or the system's place for such."""
    if own := os.environ.get("MAROTTE_CACHE"):
        return Path(own) / "alignment"
    if sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
    elif sys.platform == "darwin":
        base = Path.home() / "Library" / "Caches"
    else:
        base = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    return base / "marotte" / "alignment"


def _save(file: Path, got: Hearing) -> None:
    data = {
        "lines": {
            str(n): {
                "phones": [[p.name, p.stress, p.start, p.stop, p.word] for p in line.phones], "start_s": line.start_s, "quality": line.quality,
                "word_quality": line.word_quality, "loudness": line.loudness, "doubtful": line.doubtful,
            }
            for n, line in got.lines.items()
        },
        "told": [[t.code, t.sentence, t.line] for t in got.told],
    }  # fmt: skip
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=file.parent, suffix=".part")
        with os.fdopen(handle, "w", encoding="utf-8") as out:
            json.dump(data, out)
        Path(name).replace(file)
    except OSError:  # a cache that cannot be written costs time and nothing else
        return


def _load(file: Path, recording: str) -> Hearing | None:
    try:
        data: Any = json.loads(file.read_text(encoding="utf-8"))
        lines = {
            int(n): HeardLine(
                phones=tuple(TimedPhone(name=p[0], stress=p[1], start=p[2], stop=p[3], word=p[4]) for p in line["phones"]),
                start_s=line["start_s"], recording=recording, quality=line["quality"], word_quality=tuple(line["word_quality"]),
                loudness=tuple(line["loudness"]), doubtful=tuple(line["doubtful"]),
            )
            for n, line in data["lines"].items()
        }  # fmt: skip
        return Hearing(lines=lines, told=tuple(Told(code=t[0], sentence=t[1], line=t[2]) for t in data["told"]))
    except (OSError, ValueError, KeyError, TypeError, IndexError):  # not there, or broken: it is made again
        return None
