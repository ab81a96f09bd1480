"""The mouth shapes against the viseme table of ISO/IEC 14496-2 (visemes_iso14496.json says how it was seen)."""

from __future__ import annotations

import json
from pathlib import Path

from marotte.script.phones import VOWELS as DICTIONARY_VOWELS
from marotte.script.visemes import CHOSEN, PHONES, SHAPES, TABULATED, VOWELS, shapes_of

TABLE = json.loads(Path(__file__).with_name("visemes_iso14496.json").read_text())["groups"]


def test_there_are_14_groups_and_neutral() -> None:
    assert len(SHAPES) == 15
    assert SHAPES[0] == "neutral"


def test_the_23_phones_of_the_table_take_the_table_s_groups() -> None:
    expected = {phone: int(number) for number, group in TABLE.items() for phone in group["arpabet"]}
    assert len(expected) == 23
    assert expected == TABULATED
    for phone, number in expected.items():
        assert shapes_of(phone, 1) == (number,)


def test_the_other_16_phones_are_ours_and_no_phone_is_left_out() -> None:
    assert len(CHOSEN) == 16
    assert not set(CHOSEN) & set(TABULATED)
    assert len(PHONES) == 39
    assert set(DICTIONARY_VOWELS) == VOWELS
