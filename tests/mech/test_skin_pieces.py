from __future__ import annotations

from marotte.creature.schema.skins import SkinCard, Strip
from marotte.mech.skin_pieces import Piece, pieces, weighed_as


def card(material: str | None) -> SkinCard:
    strip = None if material is None else Strip(material=material, thickness=0.002, width=0.03, length=0.05)
    return SkinCard(strip=strip, curve=None if strip else "measured/pull.csv", holds={"jaw": 0.1})


def test_a_card_is_weighed_by_the_entry_of_its_name_and_else_by_one_called_a_skin() -> None:
    masses = ("shell", "brow", "face_skin", "neck_skin")
    assert weighed_as("brow", masses) == "brow"
    assert weighed_as("chin", masses) == "face_skin"
    assert weighed_as("chin", ("shell",)) is None


def test_cards_that_one_entry_weighs_are_one_piece_a_material() -> None:
    skins = {
        "pull": card(None),
        "chin": card("silicone_00_50"),
        "throat": card("stretch_fur"),
        "cheek": card("silicone_00_50"),
    }
    made = pieces(skins, ("face_skin",))
    assert made == (
        Piece(("chin", "cheek", "pull"), "silicone_00_50", "face_skin"),
        Piece(("throat",), "stretch_fur", "face_skin"),
    )


def test_cards_that_nothing_weighs_are_a_piece_each() -> None:
    skins = {"chin": card("silicone_00_50"), "pull": card(None)}
    assert pieces(skins, ("shell",)) == (Piece(("chin",), "silicone_00_50", None), Piece(("pull",), None, None))
