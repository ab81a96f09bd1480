from __future__ import annotations

import copy
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from ruamel.yaml import YAML

from marotte.creature.edit import plain
from marotte.creature.publish import READ, faults_page, json_schema, reference_page
from marotte.creature.schema.file import CreatureFile
from tests.creature.conftest import SMALL

DOCS = Path(__file__).parents[2] / "docs" / "reference"
EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*/creature.yaml"))
RENEW = "run: .venv/bin/python -m marotte.creature.publish"


def test_the_published_schema_is_that_of_the_code() -> None:
    assert json.loads((DOCS / "creature.schema.json").read_text()) == json_schema(), RENEW


def test_the_reference_page_is_that_of_the_code() -> None:
    assert (DOCS / "creature-file.md").read_text() == reference_page(), RENEW


def test_the_page_of_faults_is_that_of_the_code() -> None:
    assert (DOCS / "faults.md").read_text() == faults_page(), RENEW


def test_the_page_says_of_every_section_whether_it_is_read() -> None:
    assert set(READ) == set(CreatureFile.model_fields)


def test_every_field_says_what_it_is() -> None:
    bare = [
        line for line in reference_page().splitlines() if line.startswith("| `") and line.split("|")[2].strip() == ""
    ]
    assert not bare, bare[:20]


@pytest.fixture(scope="module")
def validator() -> Draft202012Validator:
    schema = json_schema()
    Draft202012Validator.check_schema(schema)
    return Draft202012Validator(schema)


def _load(text: str) -> Any:
    return plain(YAML().load(text))


@pytest.mark.parametrize("path", EXAMPLES, ids=[path.parent.name for path in EXAMPLES])
def test_examples_are_valid_by_the_published_schema(path: Path, validator: Draft202012Validator) -> None:
    problems = [
        f"{list(error.path)}: {error.message[:200]}" for error in validator.iter_errors(_load(path.read_text()))
    ]
    assert not problems


def test_a_valid_file_is_valid_by_the_published_schema(validator: Draft202012Validator) -> None:
    assert not list(validator.iter_errors(_load(SMALL)))


@pytest.mark.parametrize(
    "spoil",
    [
        lambda file: file["functions"]["jaw"].pop("part"),
        lambda file: file["functions"]["jaw"].update(prt="jaw"),
        lambda file: file["functions"]["jaw"]["mech"].update(kind="five_bar"),
        lambda file: file["functions"]["lid_upper"].update(sides="bth"),
        lambda file: file.update(stock=3),
        lambda file: file["servos"]["jaw_servo"].pop("like"),
        lambda file: file["functions"]["jaw"]["mech"].update(horn=14),
    ],
)
def test_a_spoilt_file_is_not_valid_by_the_published_schema(
    spoil: Callable[[Any], Any], validator: Draft202012Validator
) -> None:
    file = copy.deepcopy(_load(SMALL))
    spoil(file)
    assert list(validator.iter_errors(file))
