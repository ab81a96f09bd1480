"""``marotte why FOLDER mass.CARRIER``: a sheet that adds up, and what made a grade in every working."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest

HEAD = """\
marotte: 1
stock: 2026-1
name: Test head
build: {eye: {diameter: 40 mm, spacing: 88 mm}, points: {neck: [0 mm, -100 mm, 0 mm]}}
functions:
  jaw:
    {part: jaw, at: [0 mm, -40 mm, 0 mm], travel: [0 deg, 20 deg], means: {kind: hand},
      load: {mass: 100 g, centre: [0 mm, 0 mm, 60 mm], inertia: 0 g*cm2}}
masses:
  shell: {mass: 200 g, at: [0 mm, 20 mm, -30 mm]}
  ear_left: {mass: 30 g, at: [50 mm, 80 mm, 0 mm]}
  ear_right: {mass: 30 g, at: [-50 mm, 80 mm, 0 mm]}
  wig: {mass: {value: 140 g, source: measured}, at: [0 mm, 60 mm, 0 mm]}
"""
Run = Callable[..., object]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "creature.yaml").write_text(HEAD, encoding="utf-8")
    return tmp_path


def test_the_sheet_of_a_carrier_without_a_limit_adds_up_with_the_forgotten_as_its_own_line(
    folder: Path, marotte: Run
) -> None:
    ran = marotte("why", folder, "mass.skull")
    assert ran.code == 0
    rows = [match for line in ran.out.splitlines() if (match := re.match(r" *([\d.]+(?: to [\d.]+)?) g  (\S.*)", line))]
    table = {re.split(r"  +", match[2])[0]: match[1] for match in rows}
    *lines, total, forgotten, with_that = table.values()
    assert sum(map(float, lines)) == float(total) == 500
    assert forgotten == "36 to 54"  # 10 to 15 % of the 360 g that are not taken whole
    assert with_that == "536 to 554"
    assert re.search(r"140 g  wig  .*taken whole: 140 g, measured", ran.out)
    assert re.search(r" 30 g  left ear  .*30 g, unsaid: a guess", ran.out)


def test_the_sheet_says_where_it_balances_and_how_hard_it_swings(folder: Path, marotte: Run) -> None:
    """By hand, of point masses at the arms r from the neck: c = sum m c_i / 500 g, I = sum m r^2."""
    out = marotte("why", folder, "mass.skull").out
    y = (100 * -40 + 200 * 20 + 60 * 80 + 140 * 60) / 500
    z = (100 * 60 + 200 * -30) / 500
    assert (
        f"Centre of mass at neutral: 0, {y:.3g}, {z:.3g} mm from between the eyes; from the neck 126 mm over it." in out
    )
    turning = (100 * 60**2 + 200 * 30**2 + 60 * 50**2) * 1e-6
    up = (100 * 60**2 + 200 * 120**2 + 60 * 180**2 + 140 * 160**2) * 1e-6
    nodding, tilting = up + (100 * 60**2 + 200 * 30**2) * 1e-6, up + 60 * 50**2 * 1e-6
    wanted = [f"{value:.3g}" for value in (nodding, turning, tilting)]
    assert "nodding {} g·m², turning {} g·m², tilting {} g·m²".format(*wanted) in out


def test_every_working_says_what_performs_and_what_is_only_just(folder: Path, marotte: Run) -> None:
    (folder / "creature.yaml").write_text(HEAD + "limits: {head_mass: 600 g}\n", encoding="utf-8")
    out = marotte("why", folder, "mass.skull").out
    assert (
        "Performs up to 546 g (a margin of +9 %), only just up to 600 g (a margin of 0 %), else it fails. A sum of"
        in out
    )
    travel = marotte("why", folder, "jaw.travel").out
    assert (
        "Performs from 20 deg (a margin of 0 %), only just from 19.4 deg (a margin of -3 %), else it fails." in travel
    )


def test_upper_limits_of_the_fit_are_marked_as_such(marotte: Run) -> None:
    """Each requirement by its own rule, also where several share the name `fit`."""
    out = marotte("check", Path(__file__).resolve().parents[2] / "examples" / "tansy", "--all").out
    rows = {line.split()[0]: line.split()[1] for line in out.splitlines() if line.startswith("fit.")}
    assert {name: rows[name] for name in ("fit.room", "fit.access")} == {"fit.room": "≤", "fit.access": "≤"}
    assert rows["fit.skull"] != "≤"
