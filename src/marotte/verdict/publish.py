"""The verdict as others read it: the JSON Schema of ``check --json``, and the page of requirements. Both made from the code.

``python -m marotte.verdict.publish`` renews docs/reference/verdict.schema.json and docs/reference/findings.md; a test fails,
with that command, where they are behind.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, Final, get_args

from marotte.basis.contracts.finding import GRADES, RuleKind
from marotte.basis.given import SOURCES
from marotte.verdict.graph import methods
from marotte.verdict.mass_object import masses_schema
from marotte.verdict.requirements import REGISTRY
from marotte.verdict.requirements.base import Requirement

GRADE_WORDS: Final[dict[str, str]] = {
    "performs": "it does what the part asks, with the margin that this requirement wants",
    "only_just": "it does, and nothing may go wrong",
    "fails": "it does not",
    "undecided": "the spread of guessed or typical inputs carries it over the line between failing and not; a ten-minute test is named",
    "unknown": "it cannot be computed; the finding says why",
    "not_applicable": "this creature does not claim it",
}


def json_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of the object that ``check --json`` prints."""
    number = {"type": "number"}
    text = {"type": "string"}
    band = _maybe({"type": "array", "items": number, "minItems": 2, "maxItems": 2})
    quantity = _object({"value": number, "unit": text})
    has = {**_object({"value": number, "unit": text, "more": {"const": True}}), "required": ["value", "unit"]}
    test = _object({"inputs": {"type": "array", "items": text}, "test": text})
    step = _object(
        {
            "symbol": text, "meaning": text, "kind": {"enum": ["given", "published", "rule", "read", "worked"]}, "formula": text,
            "values": {"type": "object", "additionalProperties": number}, "result": number, "unit": text, "source": text,
        }
    )  # fmt: skip
    edit = {**_object({"path": text, "from": {}, "to": {}}), "required": ["path"]}
    remedy = _object(
        {
            "finding": text, "edits": {"type": "array", "items": edit}, "before": _maybe(number), "after": _maybe(number),
            "grade": {"enum": list(GRADES)}, "worsens": {"type": "array", "items": text}, "cost": number, "sentence": text,
        }
    )  # fmt: skip
    line = _maybe(number)
    marks = _object(
        {
            "rule": {"enum": list(get_args(RuleKind))}, "performs": line, "only_just": line, "performs_at": line,
            "only_just_at": line, "why": text,
        }
    )  # fmt: skip
    decides = _object({"what": text, "needed": quantity, "has": quantity, "margin": number, "band": band})
    finding = _object(
        {
            "id": text, "about": text, "requirement": text, "grade": {"enum": list(GRADES)}, "needed": quantity,
            "has": {"oneOf": [has, _object({"unknown": text})]}, "margin": _maybe(number),
            "band": band, "at": _maybe({"type": "integer"}),
            "sentence": text, "marks": _maybe(marks), "decides": _maybe(decides), "settle": {"type": "array", "items": test},
            "working": {"type": "array", "items": step},
            "method": text, "remedies": {"type": "array", "items": remedy}, "rests_on": {"type": "array", "items": text},
            "worst_source": {"enum": list(SOURCES)}, "key": text,
        }
    )  # fmt: skip
    count = {"type": "integer", "minimum": 0}
    schema = _object(
        {
            "creature": text, "grade": {"enum": list(GRADES)}, "summary": text, "counts": _object(dict.fromkeys(GRADES, count)),
            "findings": {"type": "array", "items": finding}, "plan": {"type": "array", "items": text},
            "cautions": {"type": "array", "items": _object({"id": text, "about": text, "sentence": text, "advice": text})},
            "told": {
                "type": "array",
                "items": _object(
                    {
                        "code": text, "sentence": text, "ref": _maybe(text), "place": _maybe(text), "line": _maybe({"type": "integer"}),
                        "more": text,
                    }
                ),
            },
            "masses": masses_schema(), "inputs": _object(dict.fromkeys(SOURCES, count)),
            "seconds": {"type": "object", "additionalProperties": {"type": "number", "minimum": 0}},
            "methods": {"type": "object", "additionalProperties": {"type": "integer"}}, "stock": text, "version": text, "key": text,
        }
    )  # fmt: skip
    place = _maybe({"type": "integer"})
    fault = _object(
        {
            "code": text, "what": text, "file": _maybe(text), "line": place, "column": place, "path": text, "found": _maybe(text),
            "allowed": _maybe(text), "try": _maybe(text),
        }
    )  # fmt: skip
    whole = schema.pop("required")
    schema["properties"] |= {
        "faults": {"type": "array", "items": fault, "minItems": 1},
        "left_out": {"type": "array", "items": text},
    }
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "The verdict on a creature",
        "description": "What `marotte check FOLDER --json` prints. Numbers are in SI; `at` is a tick of 1/1200 s; `marks` are the margins from which "
        "a grade holds, and what they come to; of `masses` no line holds what is `forgotten`; `seconds` is outside the "
        "promise that the same input gives the same output to the bit. What a design `has` is that or more where it says `more`. "
        "Where the file has faults, they stand beside the verdict on the rest, "
        "the creature without what `left_out` points to; where no creature is left, they stand alone.",
        **schema,
        "anyOf": [{"required": whole}, {"required": ["faults"], "maxProperties": 1}],
        "dependentRequired": {"left_out": ["faults"]},
    }


def _object(properties: dict[str, Any]) -> dict[str, Any]:
    return {"type": "object", "properties": properties, "required": list(properties), "additionalProperties": False}


def _maybe(schema: dict[str, Any]) -> dict[str, Any]:
    return {"oneOf": [schema, {"type": "null"}]}


def findings_page() -> str:
    """Return the reference page of every requirement with its margin rule and thresholds."""
    lines = [
        "# Findings: what is required",
        "",
        "Made from the registry by `python -m marotte.verdict.publish`; do not edit it here. How margins, bands and grades are found stands in "
        "[margins](../methods/margins.md); how a number opens its working in [workings](../methods/workings.md). A method's number rises when "
        "its answers change, and stands on its page; a finding's own when its way of asking does.",
        "",
        "| grade | means |",
        "|---|---|",
        *(f"| `{grade}` | {GRADE_WORDS[grade]} |" for grade in GRADES),
        "",
    ]
    for requirement in REGISTRY:
        lines += _section(requirement)
    return "\n".join(lines).rstrip() + "\n"


def method_number(page: str) -> int:
    """Return the number of the method that a page of docs/methods is about, or is a part of: ``fit-hand`` is of ``mech/fit``.

    Raises:
        KeyError: no engine numbers a method of that name.
    """
    numbers = {name.partition("/")[2].replace("_", "-"): number for name, number in methods().items()}
    return numbers[page] if page in numbers else numbers[page.partition("-")[0]]


def _section(requirement: Requirement[Any]) -> list[str]:
    lines = requirement.thresholds
    yes_no = requirement.rule.kind == "yes_no"
    grades = (
        "yes or no"
        if yes_no
        else f"performs from {lines.performs:+.0%}, only just from {lines.only_just:+.0%}, else fails"
    )
    return [
        f"## `{requirement.id_of(requirement.example)}`",
        "",
        requirement.asks,
        "",
        f"- Margin: {requirement.rule.says()}.",
        f"- Grades: {grades}. {lines.why}",
        f"- Method: [{requirement.method}](../methods/{requirement.method}.md), number {method_number(requirement.method)}; the finding's own "
        f"number is {requirement.number}.",
        "",
    ]


def main() -> None:
    """Renew the published files in docs/reference of the folder that the command is run in."""
    folder = Path("docs/reference")
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "verdict.schema.json").write_text(json.dumps(json_schema(), indent=1) + "\n", encoding="utf-8")
    (folder / "findings.md").write_text(findings_page(), encoding="utf-8")


if __name__ == "__main__":
    main()
