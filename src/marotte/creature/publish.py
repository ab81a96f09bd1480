"""The schema as others read it: JSON Schema of the written file, the reference page, and the page of faults, made from the code.

``python -m marotte.creature.publish`` renews docs/reference/{creature.schema.json, creature-file.md, faults.md}; a test fails, with
that command, where they are behind.
"""

from __future__ import annotations

import json
import types
from collections.abc import Iterator
from pathlib import Path
from typing import Annotated, Any, Final, Literal, Union, get_args, get_origin

from marotte.basis.faults import CODES
from marotte.basis.given import DEFAULT_SPREAD, SOURCES
from marotte.basis.units import KINDS, RATIO, Kind
from marotte.creature.anatomy import PARTS
from marotte.creature.schema.base import Record
from marotte.creature.schema.file import CreatureFile
from marotte.creature.schema.functions import JoinedMech
from marotte.creature.schema.mechs import MECHS
from marotte.creature.schema.quantities import Q, quantity

READ: Final[dict[str, str]] = {
    "marotte": "read", "stock": "read", "name": "read", "about": "read", "seed": "read",
    "build": "read",
    "functions": "read", "mechs": "read", "skins": "read", "servos": "read", "supply": "read", "masses": "read", "poses": "read",
    "brief": "read",
    "performers": "who has a hand in the head or is inside is read, with that hand or head, and the posture; the rest is checked, not yet read",
    "controls": "checked, not yet read", "hand_plan": "checked, not yet read",
    "audience": "checked, not yet read",
    "show": "read", "worn": "that something is worn is read (hours, cautions); what, is checked, not yet read",
    "shop": "read",
    "limits": "all are read but performers, which is checked, not yet read",
}  # fmt: skip
"""What this release does with each section. A test holds this against the schema."""

_KIND_NAMES: Final = {kind.name: kind for kind in KINDS}


def json_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of creature.yaml as written: sides, like, short forms included."""
    schema = CreatureFile.model_json_schema(ref_template="#/$defs/{model}")
    definitions: dict[str, Any] = schema.pop("$defs")
    for name, definition in definitions.items():
        _widen(definition, pairable=_record_named(name))
    _widen(schema, pairable=None)
    _joined_mechs(definitions)
    function = definitions["Function"]
    function["required"] = [name for name in function["required"] if name not in ("neutral", "power_off")]
    servo = definitions["ServoClass"]
    servo["anyOf"] = [{"required": ["like"]}, {"required": servo.pop("required")}]
    masses = schema["properties"]["masses"]["patternProperties"]
    for pattern, carried in masses.items():
        masses[pattern] = {"anyOf": [carried, {"x-quantity": ["mass"]}]}
    _refer(schema)
    for definition in definitions.values():
        _refer(definition)
    definitions.update(_quantities())
    title = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "creature.yaml",
        "description": "A creature, version 1.",
    }
    return {**title, **{k: v for k, v in schema.items() if k not in title}, "$defs": dict(sorted(definitions.items()))}


def _record_named(name: str) -> bool:
    return name in ("Function", "SkinCard", "JoinedMech")


def _widen(definition: dict[str, Any], pairable: bool | None) -> None:
    """Add what every written block may have, and what pairs may have."""
    if definition.get("type") != "object" or "properties" not in definition:
        return
    properties = definition["properties"]
    properties.setdefault(
        "source", {"enum": list(SOURCES), "description": "Holds for every value below that does not say otherwise."}
    )
    properties.setdefault("notes", {"description": "Kept and never read."})
    definition.setdefault("patternProperties", {})["^x_"] = {"description": "Kept and never read."}
    if pairable:
        properties["sides"] = {"enum": ["both", "left", "right"], "description": "both makes NAME_left and NAME_right."}
        for side in ("left", "right"):
            properties[side] = {"type": "object", "description": f"What differs on the {side}."}


def _joined_mechs(definitions: dict[str, Any]) -> None:
    """In the file a joined mech's kind and lengths stand beside ``moves`` and ``means``."""
    joined = definitions.pop("JoinedMech")
    own = {name: value for name, value in joined["properties"].items() if name not in ("mech",)}
    means = own["means"]
    means["anyOf"] = [
        {k: means.pop(k) for k in list(means) if k not in ("description", "title")},
        _means_union(definitions),
    ]
    choices = []
    for record in MECHS:
        name = f"Joined{record.__name__}"
        base = definitions[record.__name__]
        definitions[name] = {
            **base, "title": name, "properties": {**base["properties"], **own},
            "required": sorted({*base.get("required", ()), "kind", "moves", "means"}),
        }  # fmt: skip
        choices.append({"$ref": f"#/$defs/{name}"})
    definitions["JoinedMech"] = {"description": JoinedMech.__doc__, "oneOf": choices}


def _means_union(definitions: dict[str, Any]) -> dict[str, Any]:
    return dict(definitions["Function"]["properties"]["means"]["anyOf"][0])


def _refer(node: Any) -> None:
    """Replace the mark that each quantity left by a reference to its kind."""
    if isinstance(node, dict):
        names = node.pop("x-quantity", None)
        if names is not None:
            references = [{"$ref": f"#/$defs/quantity_{name.replace(' ', '_')}"} for name in names]
            node.pop("type", None)
            node.pop("default", None)  # in SI, which would mislead
            node.update(references[0] if len(references) == 1 else {"anyOf": references})
        for value in node.values():
            _refer(value)
    elif isinstance(node, list):
        for value in node:
            _refer(value)


def _quantities() -> dict[str, Any]:
    out: dict[str, Any] = {}
    for kind in KINDS:
        spellings = [spelling for spelling in kind.spellings if spelling]
        scalar: list[dict[str, Any]] = [
            {"type": "string", "maxLength": 80, "description": f"a number and one of: {', '.join(spellings)}"}
        ]
        if "" in kind.spellings:
            scalar.append({"type": "number"})
        else:
            scalar.append({"const": 0})
        value = {"anyOf": scalar}
        block = {
            "type": "object", "required": ["value"], "additionalProperties": False,
            "properties": {
                "value": value, "source": {"enum": list(SOURCES)}, "spread": {"type": ["string", "number"]},
                "from": {"type": "string"}, "note": {"type": "string"},
            },
        }  # fmt: skip
        out[f"quantity_{kind.name.replace(' ', '_')}"] = {"title": kind.name, "anyOf": [*scalar, block]}
    return out


def reference_page() -> str:
    """Return the reference page of the file, in Markdown."""
    lines = [
        "# creature.yaml: every key", "",
        "Made from the schema by `python -m marotte.creature.publish`; do not edit it here. The JSON Schema is "
        "[creature.schema.json](creature.schema.json).", "",
        "## Quantities", "",
        "A quantity is a number with a unit, `14 mm`; with a spread, `14 mm ± 0.5 mm` or `14 mm +/- 3 %`; or a block, "
        "`{value: 14 mm, source: measured, spread: 0.5 mm, from: measured/jaw.csv, note: ...}`. `source` on any block holds for all "
        "below it. The spread is the half-width that holds 19 pieces of 20; where none is written it follows from the source "
        "(a rule of this project): " + ", ".join(f"{source} {share:.0%}" for source, share in DEFAULT_SPREAD.items()) + ".",
        "A length, angle, voltage, share, time or count without a source is taken as drawn or decided, and counts as measured; any other "
        "number without a source counts as a guess.", "",
        "| kind | spellings |", "|---|---|",
        *(f"| {kind.name} | {', '.join(f'`{s}`' if s else 'a plain number' for s in kind.spellings)} |" for kind in KINDS), "",
        "`sides: both` makes a pair, `NAME_left` and `NAME_right`, mirrored; `left:` and `right:` hold only what differs. "
        "`notes` and keys that start with `x_` are kept and never read.", "",
        "## Parts", "",
        "`functions > NAME > part` says which place of the anatomy a function moves; it gives the axis and what a growing position means.", "",
        "| part | group | moves | growing, it |", "|---|---|---|---|",
        *(f"| `{part.name}` | {part.group} | {'turns' if part.kind == 'turn' else 'slides'} | {part.says} |" for part in PARTS.values()), "",
        "## Sections", "", "| key | what it is | this release |", "|---|---|---|",
        *(f"| `{name}` | {_says(CreatureFile, name)} | {READ[name]} |" for name in CreatureFile.model_fields), "",
    ]  # fmt: skip
    for record in _records(CreatureFile, set()):
        lines.extend(_record_lines(record))
    return "\n".join(lines).rstrip() + "\n"


def _records(record: type[Record], seen: set[type[Record]]) -> Iterator[type[Record]]:
    """Yield a record and all below it, each once, in the order of the file."""
    if record in seen:
        return
    seen.add(record)
    yield record
    for info in record.model_fields.values():
        for inner in _inner_records(info.annotation):
            yield from _records(inner, seen)


def _inner_records(annotation: Any) -> Iterator[type[Record]]:
    if isinstance(annotation, type) and issubclass(annotation, Record):
        yield annotation
        return
    for argument in get_args(annotation):
        yield from _inner_records(argument)


def _record_lines(record: type[Record]) -> list[str]:
    head = (record.__doc__ or "").strip().split("\n")[0]
    title = record.__name__
    kind = record.model_fields.get("kind")
    words = [str(word) for word in get_args(kind.annotation)] if kind is not None else []
    if words:
        title += ": `kind: " + "` or `kind: ".join(words) + "`"
    lines = [f"### {title}", "", head, "", "| key | what it is | takes | bounds | default |", "|---|---|---|---|---|"]
    for name, info in record.model_fields.items():
        if name == "kind" and len(words) == 1:
            continue
        found = quantity(record, name)
        default = "required" if info.is_required() else _default(info.get_default(call_default_factory=True), found)
        lines.append(
            f"| `{name}` | {_says(record, name)} | {_takes(info.rebuild_annotation())} | {found.bounds_text() if found else ''} | {default} |"
        )
    return [*lines, ""]


def _says(record: type[Record], name: str) -> str:
    info = record.model_fields[name]
    found = quantity(record, name)
    inner = next((member.__doc__ for member in _inner_records(info.annotation)), "")
    text = info.description or (found.says if found else "") or (inner or "").strip().split("\n")[0]
    return " ".join(text.split()).replace("|", "\\|")


def _is_record(annotation: Any) -> bool:
    return isinstance(annotation, type) and issubclass(annotation, Record)


def _default(value: Any, found: Q | None) -> str:
    if value is None:
        return "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float) and found is not None:
        return _shown(value, found.kinds[0])
    if isinstance(value, (Record, dict, tuple)):
        return "" if not isinstance(value, tuple) or not value else "see below"
    return f"`{value}`"


def _shown(value: float, kind: Kind) -> str:
    factor = kind.spellings.get(kind.shown) or 1.0
    number = value / factor if kind is not RATIO or kind.shown else value
    return f"{number:.4g} {kind.shown}".strip()


def _takes(annotation: Any) -> str:
    if get_origin(annotation) is Annotated:
        for item in get_args(annotation)[1:]:
            if isinstance(item, Q):
                return " or ".join(kind.name for kind in item.kinds)
        return _takes(get_args(annotation)[0])
    origin = get_origin(annotation)
    if origin in (Union, types.UnionType):
        return " or ".join(dict.fromkeys(_takes(part) for part in get_args(annotation) if part is not type(None)))
    if origin is Literal:
        return ", ".join(f"`{word}`" for word in get_args(annotation))
    if origin is tuple:
        parts = [part for part in get_args(annotation) if part is not Ellipsis]
        if Ellipsis in get_args(annotation):
            return f"a list of {_takes(parts[0])}"
        return f"{len(parts)} × {_takes(parts[0])}"
    if origin is dict:
        return f"names, each with {_takes(get_args(annotation)[1])}"
    if _is_record(annotation):
        return f"[{annotation.__name__}](#{annotation.__name__.lower()})"
    return {str: "a text", int: "a whole number", float: "a number", bool: "true or false"}.get(annotation, "")


def faults_page() -> str:
    """Return the page of fault codes, in Markdown."""
    lines = [
        "# Faults of a creature folder", "",
        "Made from the code by `python -m marotte.creature.publish`; do not edit it here. With `check --json` every fault has its `code`; on a "
        "terminal it has its place, what was found, what is allowed, and what to try.", "",
        "| code | means |", "|---|---|",
        *(f"| `{code}` | {means} |" for code, means in CODES.items()),
    ]  # fmt: skip
    return "\n".join(lines) + "\n"


def write(folder: Path) -> list[Path]:
    """Write the three files into a folder and return their paths."""
    schema, page, faults = (folder / name for name in ("creature.schema.json", "creature-file.md", "faults.md"))
    schema.write_text(json.dumps(json_schema(), indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    page.write_text(reference_page(), encoding="utf-8")
    faults.write_text(faults_page(), encoding="utf-8")
    return [schema, page, faults]


if __name__ == "__main__":
    write(Path("docs/reference"))
