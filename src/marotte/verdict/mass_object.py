"""The mass sheet as machines read it, and the part of the JSON Schema that says so."""

from __future__ import annotations

from typing import Any, get_args

from marotte.basis.contracts.common import Unknown
from marotte.basis.contracts.fit import CarrierSheet, MassKind, MassLine, MassPlace, MassSheet


def masses_object(sheet: MassSheet) -> dict[str, Any]:
    """Return the object under ``masses``: by carrier its lines, their sum, what is forgotten, balance and inertia about the neck."""
    return {
        "neck": list(sheet.neck),
        "neck_written": sheet.neck_written,
        "carriers": {name: _carrier(found) for name, found in sheet.carriers.items()},
    }


def _carrier(found: CarrierSheet) -> dict[str, Any]:
    centre, inertia = found.centre, found.inertia
    return {
        "lines": [_line(line) for line in found.lines],
        "total": found.total,
        "parts": found.parts,
        "forgotten": list(found.forgotten),
        "centre": {"unknown": centre.why} if isinstance(centre, Unknown) else list(centre),
        "inertia": {"unknown": inertia.why} if isinstance(inertia, Unknown) else inertia.tolist(),
    }


def _line(line: MassLine) -> dict[str, Any]:
    return {
        "label": line.label, "kind": line.kind, "of": line.of, "count": line.count, "each": line.each, "mass": line.mass,
        "at": None if line.at is None else list(line.at), "placed": line.placed, "whole": line.whole,
        "inertia": line.own.tolist(), "ref": line.ref,
    }  # fmt: skip


def masses_schema() -> dict[str, Any]:
    """Return the JSON Schema of that object."""
    number, text, truth = {"type": "number"}, {"type": "string"}, {"type": "boolean"}
    vector = {"type": "array", "items": number, "minItems": 3, "maxItems": 3}
    matrix = {"type": "array", "items": vector, "minItems": 3, "maxItems": 3}
    unknown = _object({"unknown": text})
    line = _object(
        {
            "label": text, "kind": {"enum": list(get_args(MassKind))}, "of": text, "count": {"type": "integer", "minimum": 1},
            "each": number, "mass": number, "at": {"oneOf": [vector, {"type": "null"}]},
            "placed": {"enum": list(get_args(MassPlace))}, "whole": truth, "inertia": matrix, "ref": text,
        }
    )  # fmt: skip
    carrier = _object(
        {
            "lines": {"type": "array", "items": line}, "total": number, "parts": number,
            "forgotten": {"type": "array", "items": number, "minItems": 2, "maxItems": 2},
            "centre": {"oneOf": [vector, unknown]}, "inertia": {"oneOf": [matrix, unknown]},
        }
    )  # fmt: skip
    carriers = {"type": "object", "additionalProperties": carrier}
    return _object({"neck": vector, "neck_written": truth, "carriers": carriers})


def _object(properties: dict[str, Any]) -> dict[str, Any]:
    return {"type": "object", "properties": properties, "required": list(properties), "additionalProperties": False}
