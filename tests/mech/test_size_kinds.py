"""Sizing of bell-cranks, tee bars, eyes on two rods and wires: what is proposed is written, read again and solved again.

Closed forms are for small angles, derived beside each check: levers joined by a rod that is square to both move by their arms.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from marotte.basis.contracts.common import Unknown
from marotte.basis.contracts.mech import Transmission
from marotte.creature.anatomy import PARTS
from marotte.creature.creature import Creature
from marotte.creature.edit import apply, writing
from marotte.creature.load import build, load, open_tree
from marotte.creature.tree import dump
from marotte.mech.ask import Ask, paced
from marotte.mech.asked_of import asked_by, asked_of, asked_within
from marotte.mech.size import Sizing, edits, size
from marotte.mech.size_candidate import GOOD_ANGLE, GOOD_USE, Candidate
from marotte.mech.solve import transmission
from tests.mech.rigs import DEG

HEAD = """\
marotte: 1
stock: 2026-1
name: Bench head
build: {{eye: {{diameter: 40 mm, spacing: 80 mm}}}}
functions:
{functions}
mechs:
{mechs}
servos:
  bench: # a straight line: 1 N*m at a stall, half of it real, 10 rad/s unloaded
    like: standard
    derate: 50 %
    points: [{{at: 6.0 V, stall: 1.0 N*m, free: 10 rad/s, stall_current: 2.4 A, source: datasheet}}]
supply: {{battery: {{kind: bench, volts: 6.0 V, limit: 30 A}}, leads: {{trunk: {{fed_by: battery, awg: 18, length: 0.6 m}}}}}}
"""
SERVO = "{kind: servo, model: bench}"
SPARE = "{part: head_turn, travel: [-1 deg, 1 deg], means: {kind: hand}}"


def head(folder: Path, functions: dict[str, str], mechs: dict[str, str] | None = None) -> Creature:
    """A creature of some functions and joined mechs, each in one line."""
    lines = [f"  {name}: {text}" for name, text in functions.items()]
    joined = [f"  {name}: {text}" for name, text in (mechs or {}).items()]
    text = HEAD.format(functions="\n".join(lines), mechs="\n".join(joined) or "  {}")
    (folder / "creature.yaml").write_text(text)
    return load(folder)


def corner(mech: str, travel: str = "[-5 mm, 9 mm]", more: str = "mass: 20 g, friction: 2 N") -> str:
    """A tab at a mouth's corner, on a servo of its own."""
    return f"{{part: lip_corner, side: left, travel: {travel}, means: {SERVO}, mech: {mech}, load: {{{more}}}}}"


def found(creature: Creature, function: str, seconds: float | None = None) -> Sizing:
    got = size(creature, function, asked_of if seconds is None else asked_within(seconds))
    assert isinstance(got, Sizing), got
    return got


def written(folder: Path, creature: Creature, candidate: Candidate) -> Creature:
    """The creature with a proposal written into its file, and read again."""
    tree = open_tree(folder)
    apply(tree, [writing(tree, edit.path, edit.to) for edit in edits(creature, candidate)])
    (folder / "creature.yaml").write_text(dump(tree))
    return build(open_tree(folder), folder)


def solved(creature: Creature, mechanism: str) -> Transmission:
    own = creature.mechs[mechanism]
    spacing = creature.build.eye.spacing if creature.build.eye is not None else 0.0
    kinds = tuple(creature.means[name].kind for name in own.inputs)
    got = transmission(own, creature.functions, creature.points, PARTS, None, creature.stock_tables, spacing, kinds)
    assert isinstance(got, Transmission), got
    return got


def keeps_its_word(folder: Path, creature: Creature, sizing: Sizing, candidate: Candidate) -> None:
    """Write a proposal, read it, solve it: the travels, the angle, the torque by virtual work."""
    after = written(folder, creature, candidate)
    moved = solved(after, sizing.mechanism)
    assert not [fault for fault in moved.faults if fault.serious]
    where = moved.inside if moved.inside is not None else np.ones(moved.position[0].shape, dtype=np.bool_)
    for k, name in enumerate(moved.outputs):
        low, high = after.functions[name].travel
        assert moved.position[k].min() <= low + 1e-6
        assert moved.position[k].max() >= high - 1e-6
    if moved.angle is not None:
        assert candidate.least_angle is not None
        # written in half millimetres and degrees: nothing is lost on the way through the file
        assert float(moved.angle[where].min()) == pytest.approx(candidate.least_angle, abs=1e-9)
        assert candidate.least_angle >= GOOD_ANGLE
    assert candidate.use <= GOOD_USE
    assert max(float(np.ptp(axis)) for axis in moved.grid) == pytest.approx(candidate.swing, abs=1e-9)
    assert candidate.swing <= sizing.ask.line.turn


def use_by_virtual_work(moved: Transmission, ask: Ask) -> float:
    """The largest share of torque, from positions alone: what goes out in power comes in, over slopes taken between places."""
    u, q = moved.grid[0], moved.position[0]
    slope = np.interp(ask.first.grid, q, np.gradient(q, u))
    one = ask.first
    torque = slope * (one.force + one.friction + one.inertia * one.acceleration) / moved.forward + moved.dry
    speed = one.speed / slope
    return float((torque / (ask.line.stall_nm * np.maximum(1.0 - speed / ask.line.free_rad_s, 0.02))).max())


CRANK = "{kind: bell_crank, horn: 12 mm, rod: 34 mm, in_arm: 12 mm, out_arm: 22 mm, ground: 35 mm, next_rod: 40 mm}"


def test_a_bell_crank_is_sized_and_keeps_its_word(tmp_path: Path) -> None:
    creature = head(tmp_path, {"lip_corner": corner(CRANK.replace("22 mm", "9 mm"), more="mass: 20 g, friction: 4 N")})
    sizing = found(creature, "lip_corner")
    assert sizing.now is not None
    assert not sizing.now.performs
    best = sizing.candidates[0]
    assert best.performs
    keeps_its_word(tmp_path, creature, sizing, best)
    moved = solved(load(tmp_path), "lip_corner")
    assert use_by_virtual_work(moved, sizing.ask) == pytest.approx(best.use, rel=0.01)
    after = found(load(tmp_path), "lip_corner")
    assert after.now is not None
    assert after.now.performs
    assert not after.candidates or after.candidates[0].score < 0.9 * after.now.score


def test_a_bell_cranks_swing_over_a_small_travel_is_that_of_its_levers(tmp_path: Path) -> None:
    """Both rods square to both their arms: a radian of the servo moves the tab by horn / in_arm x out_arm."""
    creature = head(tmp_path, {"lip_corner": corner(CRANK, travel="[-0.2 mm, 0.2 mm]")})
    sizing = found(creature, "lip_corner")
    assert sizing.now is not None
    assert sizing.now.swing == pytest.approx(0.4e-3 / (0.012 / 0.012 * 0.022), rel=0.03)


def test_a_bell_crank_that_turns_an_arm_is_sized_with_its_second_pair_of_levers(tmp_path: Path) -> None:
    mech = (
        "{kind: bell_crank, horn: 8 mm, rod: 40 mm, in_arm: 16 mm, out_arm: 10 mm, ground: 40 mm, next_rod: 30 mm, next_arm: 20 mm, "
        "next_ground: 32 mm, out_arm_at_neutral: 60 deg}"
    )
    ear = (
        f"{{part: ear_lift, side: left, travel: [-25 deg, 25 deg], means: {SERVO}, mech: {mech}, "
        "load: {mass: 30 g, centre: [0 mm, 60 mm, 0 mm], friction: 0.02 N*m}, at: [50 mm, 80 mm, -50 mm]}"
    )
    creature = head(tmp_path, {"ear_lift": ear})
    sizing = found(creature, "ear_lift", 0.6)
    assert sizing.now is None or not sizing.now.performs
    assert sizing.candidates[0].performs
    assert any(field.startswith(("next_", "out_arm", "horn")) for field in sizing.candidates[0].changes)
    keeps_its_word(tmp_path, creature, sizing, sizing.candidates[0])


@settings(max_examples=12, deadline=None)
@given(
    ends=st.tuples(st.floats(3.0, 8.0), st.floats(3.0, 8.0)), friction=st.floats(0.5, 6.0), ratio=st.floats(0.7, 1.5),
    clocks=st.tuples(st.integers(60, 120), st.integers(60, 120)),
)  # fmt: skip
def test_whatever_bell_crank_performs_keeps_its_word(
    tmp_path_factory: pytest.TempPathFactory, ends: tuple[float, float], friction: float, ratio: float,
    clocks: tuple[int, int],
) -> None:  # fmt: skip
    folder = tmp_path_factory.mktemp("crank")
    mech = (
        f"{{kind: bell_crank, horn: {12 * ratio:.1f} mm, rod: 40 mm, in_arm: 13 mm, out_arm: 16 mm, ground: 40 mm, next_rod: 40 mm, "
        f"in_arm_at_neutral: {clocks[0]} deg, out_arm_at_neutral: {clocks[1]} deg}}"
    )
    travel = f"[-{ends[0]:.1f} mm, {ends[1]:.1f} mm]"
    creature = head(folder, {"lip_corner": corner(mech, travel, f"mass: 10 g, friction: {friction:.2f} N")})
    sizing = found(creature, "lip_corner")
    for candidate in sizing.candidates:
        if candidate.performs:
            text = (folder / "creature.yaml").read_text()
            keeps_its_word(folder, creature, sizing, candidate)
            moved = solved(load(folder), "lip_corner")
            assert use_by_virtual_work(moved, sizing.ask) == pytest.approx(candidate.use, rel=0.02)
            (folder / "creature.yaml").write_text(text)


BAR = {
    "brow_inner": "{part: brow_inner, side: left, travel: [-5 mm, 5 mm], load: {mass: 12 g, friction: 2 N}}",
    "brow_outer": "{part: brow_outer, side: left, travel: [-3 mm, 3 mm], load: {mass: 6 g, friction: 1.5 N}}",
}


def bar(shares: str, horn: str = "horn: 14 mm, rod: 50 mm") -> dict[str, str]:
    return {"brows": f"{{kind: tee_bar, moves: [brow_inner, brow_outer], shares: {shares}, means: {SERVO}, {horn}}}"}


def test_a_tee_bar_bears_its_tabs_by_their_shares(tmp_path: Path) -> None:
    """Virtual work: a bar that moves tabs by k_i bears sum |k_i| of their friction and sum k_i^2 of their mass."""
    creature = head(tmp_path, BAR, bar("[100 %, 60 %]"))
    ask = asked_of(creature, "brow_outer")
    assert isinstance(ask, Ask)
    one = ask.first
    assert one.friction == pytest.approx(2.0 + 0.6 * 1.5)
    assert one.inertia == pytest.approx(0.012 + 0.36 * 0.006)
    assert (one.grid[0], one.grid[-1]) == pytest.approx(
        (-0.005, 0.005)
    )  # 5 mm is a whole share's, and 60 % of it the other's
    # brows slide up: of both weights by their shares, at the upright attitude
    assert one.force[30] == pytest.approx(9.80665 * (0.012 + 0.6 * 0.006), rel=1e-6)


def test_a_tee_bar_whose_horn_is_too_short_gets_a_longer_one(tmp_path: Path) -> None:
    creature = head(tmp_path, BAR, bar("[100 %, 60 %]", "horn: 6 mm, rod: 50 mm"))
    sizing = found(creature, "brow_outer")
    assert sizing.moves == ("brow_inner", "brow_outer")
    assert sizing.now is None or not sizing.now.performs
    best = sizing.candidates[0]
    assert best.performs
    # the bar's stroke of 10 mm: 2 horn sin(swing / 2) with a long rod (closed form)
    horn = float(best.record.horn)  # type: ignore[union-attr]
    assert 2.0 * horn * np.sin(0.5 * best.swing) == pytest.approx(0.010, rel=0.05)
    keeps_its_word(tmp_path, creature, sizing, best)
    moved = solved(load(tmp_path), "brows")
    assert use_by_virtual_work(moved, sizing.ask) == pytest.approx(best.use, rel=0.01)


def test_a_horn_that_is_not_written_is_found_and_written(tmp_path: Path) -> None:
    creature = head(tmp_path, BAR, bar("[100 %, 60 %]", "horn_at_neutral: 90 deg"))
    sizing = found(creature, "brow_inner")
    assert sizing.now is None
    assert sizing.candidates[0].changes["horn"][0] is None
    keeps_its_word(tmp_path, creature, sizing, sizing.candidates[0])


def test_shares_that_cut_a_tab_short_are_set_by_the_travels(tmp_path: Path) -> None:
    creature = head(tmp_path, BAR, bar("[100 %, 90 %]", "horn: 9 mm, rod: 50 mm"))
    sizing = found(creature, "brow_inner")
    assert sizing.now is not None
    assert [fault.kind for fault in sizing.now.faults] == ["shares", "shares"]
    best = sizing.candidates[0]
    assert best.performs
    assert best.changes["shares/1"] == (0.9, pytest.approx(0.6))  # 6 mm of 10 mm
    keeps_its_word(tmp_path, creature, sizing, best)
    assert load(tmp_path).mechs["brows"].record.shares == pytest.approx((1.0, 0.6))  # type: ignore[union-attr]


EYES = {
    "eye_turn": "{part: eye_turn, side: left, travel: [-28 deg, 28 deg], load: {mass: 18 g, inertia: 48 g*cm2, friction: 0.004 N*m}}",
    "eye_lift": "{part: eye_lift, side: left, travel: [-18 deg, 18 deg], load: {inertia: 48 g*cm2, friction: 0.004 N*m}}",
}


def eye(arms: str, horn: str = "horn: 12 mm, rod: 44 mm") -> dict[str, str]:
    return {
        "eye": f"{{kind: two_rod_gimbal, side: left, moves: [eye_turn, eye_lift], means: {{a: {SERVO}, b: {SERVO}}}, {horn}, arms: {arms}}}"
    }


def test_an_eye_whose_horns_are_too_short_is_sized_and_keeps_its_word(tmp_path: Path) -> None:
    creature = head(tmp_path, EYES, eye("{spacing: 20 mm, height: 8 mm}", "horn: 7 mm, rod: 30 mm"))
    sizing = found(creature, "eye_lift")
    assert sizing.now is None or not sizing.now.performs
    best = sizing.candidates[0]
    assert best.performs
    keeps_its_word(tmp_path, creature, sizing, best)
    moved = solved(load(tmp_path), "eye")
    assert best.cross_talk == (moved.facts["turning_lifts_rad"], moved.facts["lifting_turns_rad"])
    after = found(load(tmp_path), "eye_lift")
    assert after.now is not None
    assert after.now.performs


def test_an_eyes_horns_swing_over_a_small_travel_as_far_as_its_balls_go(tmp_path: Path) -> None:
    """A ball spacing / 2 beside and height over the eye's centre goes spacing / 2 x turn + height x lift back, and the horn that over its
    own length."""
    small = {name: text.replace("28", "2").replace("18 deg", "1 deg") for name, text in EYES.items()}
    creature = head(tmp_path, small, eye("{spacing: 20 mm, height: 8 mm}"))
    now = found(creature, "eye_turn").now
    assert now is not None
    assert now.swing == pytest.approx((0.010 * 4 * DEG + 0.008 * 2 * DEG) / 0.012, rel=0.02)
    # at rest each horn bears half of what turns and lifts, by lever: F_turn horn / spacing + F_lift horn / (2 height)
    slow = found(creature, "eye_turn", 30.0).now
    assert slow is not None
    assert slow.use == pytest.approx((0.004 * 0.012 / 0.020 + 0.004 * 0.012 / 0.016) / 0.5, rel=0.02)


def test_rods_that_take_hold_level_with_the_eye_get_a_height(tmp_path: Path) -> None:
    creature = head(tmp_path, EYES, eye("{spacing: 20 mm}"))
    sizing = found(creature, "eye_turn")
    assert sizing.now is None
    assert "nothing lifts it" in " ".join(told.sentence for told in sizing.told)
    best = sizing.candidates[0]
    assert best.performs
    assert best.changes["arms/height"][1] > 0.0
    keeps_its_word(tmp_path, creature, sizing, best)


def test_rods_take_hold_no_further_out_than_the_eye(tmp_path: Path) -> None:
    creature = head(tmp_path, EYES, eye("{spacing: 34 mm, height: 9 mm}", "horn: 8 mm, rod: 44 mm"))
    for candidate in found(creature, "eye_turn").candidates:
        arms = candidate.record.arms  # type: ignore[union-attr]
        assert np.hypot(arms.spacing / 2, arms.height) <= 0.0205  # a radius of 20 mm, and rounding


LOOP = "{{kind: pull_pull, horn: {horn}, arm: 20 mm, core: steel_0p8, bends: [90 deg], length: 200 mm, preload: 5 N}}"
TURN = (
    "{{part: ear_swivel, side: left, at: [50 mm, 80 mm, -50 mm], travel: [-45 deg, 45 deg], means: {servo}, mech: {mech}, "
    "load: {{inertia: 90 g*cm2, friction: {rubs}}}}}"
)


def test_a_loops_drum_is_set_by_travel_turn_and_torque(tmp_path: Path) -> None:
    """Closed form: the servo turns by travel x arm / drum, and bears load x drum / arm over the loop's efficiency, and its drag."""
    text = TURN.format(servo=SERVO, mech=LOOP.format(horn="7 mm"), rubs="0.1 N*m")
    creature = head(tmp_path, {"ear_swivel": text})
    sizing = found(creature, "ear_swivel", 1.0)
    assert sizing.now is not None
    assert not sizing.now.performs
    assert sizing.now.swing == pytest.approx(90 * DEG * 20 / 7)  # 257 deg: more than the servo has
    best = sizing.candidates[0]
    assert best.performs
    assert best.least_angle is None
    assert set(best.changes) == {"horn"}
    drum = best.changes["horn"][1]
    assert best.swing == pytest.approx(90 * DEG * 0.020 / drum)
    moved = solved(written(tmp_path, creature, best), "ear_swivel")
    one, rate = sizing.ask.first, drum / 0.020
    through = np.exp(-0.10 * np.pi / 2)  # Euler, Eytelwein, for the liner's friction of 0.10
    torque = rate * one.asked / through + 2 * 5.0 * (1.0 - through) * drum
    has = 0.5 * np.maximum(1.0 - one.speed / rate / 10.0, 0.02)
    assert best.use == pytest.approx(float((torque / has).max()), rel=1e-6)
    assert moved.position[0].max() == pytest.approx(45 * DEG, abs=1e-6)


def test_no_radius_in_half_millimetres_does_better_than_what_is_picked(tmp_path: Path) -> None:
    """By trying them all: the nearest that performs is the least change of the drum that the engine too says performs."""
    text = TURN.format(servo=SERVO, mech=LOOP.format(horn="7 mm"), rubs="0.1 N*m")
    creature = head(tmp_path, {"ear_swivel": text})
    best = found(creature, "ear_swivel", 1.0).candidates[0].changes["horn"][1]
    good = []
    for half in range(6, 36):  # 3 to 17.5 mm: 0.4 to 2.5 of what is written
        again = head(
            tmp_path, {"ear_swivel": TURN.format(servo=SERVO, mech=LOOP.format(horn=f"{half / 2} mm"), rubs="0.1 N*m")}
        )
        sizing = found(again, "ear_swivel", 1.0)
        now = sizing.now
        if now is not None and now.performs and now.swing <= 0.95 * sizing.ask.line.turn:
            good.append(half * 0.5e-3)
    assert best == pytest.approx(min(good, key=lambda radius: abs(radius - 0.007)))


def test_a_wire_over_its_working_load_wants_a_longer_arm(tmp_path: Path) -> None:
    text = TURN.format(
        servo=SERVO,
        mech=LOOP.format(horn="10 mm").replace("20 mm", "10 mm").replace("steel_0p8", "0.3 mm"),
        rubs="0.24 N*m",
    )
    creature = head(tmp_path, {"ear_swivel": text})
    sizing = found(creature, "ear_swivel", 1.5)
    assert sizing.now is not None
    # a fifth of 1.9 GPa on a wire of 0.3 mm is 26.9 N; 0.24 N*m at 10 mm, and the bend, ask for more
    assert "wire" in [fault.kind for fault in sizing.now.faults]
    for candidate in sizing.candidates:
        arm = float(candidate.record.arm)  # type: ignore[union-attr]
        pull = float(sizing.ask.first.asked.max()) / arm / np.exp(-0.10 * np.pi / 2)
        assert not candidate.performs or pull <= 0.2 * 1.9e9 * np.pi / 4 * 0.3e-3**2


def test_a_cables_horn_that_is_not_written_is_found(tmp_path: Path) -> None:
    mech = "{kind: cable, pulls: one_way, core: steel_0p8, bends: [70 deg], length: 85 mm, returns: skin}"
    creature = head(tmp_path, {"lip_corner": corner(mech, travel="[0 mm, 9 mm]")})
    sizing = found(creature, "lip_corner")
    assert sizing.now is None
    best = sizing.candidates[0]
    assert best.performs
    assert best.changes["horn"][0] is None
    assert best.swing == pytest.approx(0.009 / best.changes["horn"][1])  # a drum pays out its radius for each radian
    keeps_its_word(tmp_path, creature, sizing, best)


def test_a_cable_that_pulls_a_tab_straight_is_told_when_it_wants_a_drum(tmp_path: Path) -> None:
    mech = "{kind: cable, pulls: one_way, horn: 3 mm, core: steel_0p8, bends: [70 deg], length: 85 mm, returns: skin}"
    sizing = found(
        head(tmp_path, {"lip_corner": corner(mech, "[0 mm, 7 mm]", "mass: 2 g, friction: 1 N")}), "lip_corner"
    )
    assert sizing.now is not None
    assert sizing.now.swing == pytest.approx(7 / 3)
    if sizing.now.performs and not sizing.candidates:
        assert "drum" in " ".join(told.sentence for told in sizing.told)


STRAIGHT = f"{{part: ear_swivel, side: left, at: [50 mm, 80 mm, -50 mm], travel: [-45 deg, 45 deg], means: {SERVO}}}"
TAIL = (
    "{part: tail, travel: [-30 deg, 30 deg], means: {kind: lever}, "
    "mech: {kind: cable, arm: 9 mm, length: 320 mm, returns: spring, spring: 0.02 N*m/rad}}"
)


@pytest.mark.parametrize(
    ("name", "text", "says"),
    [
        ("ear_swivel", STRAIGHT, "on its servo's own shaft"),
        ("head_turn", SPARE, "without a linkage"),
        ("tail", TAIL, "only what servos move"),
    ],
)
def test_what_cannot_be_sized_says_so_and_what_to_do(tmp_path: Path, name: str, text: str, says: str) -> None:
    got = size(head(tmp_path, {name: text}), name)
    assert isinstance(got, Unknown)
    assert says in got.why


def test_defaults_and_measured_lengths_are_written_over(tmp_path: Path) -> None:
    """A clocking that is not in the file is put into it, and a length with a source is written plainly: the new one is not measured."""
    mech = "{kind: crank_slider, horn: {value: 13 mm, source: measured}, rod: 46 mm}"
    brow = f"{{part: brow_inner, side: left, travel: [-7 mm, 3 mm], means: {SERVO}, mech: {mech}, load: {{mass: 3 g, friction: 8 N}}}}"
    creature = head(tmp_path, {"brow_inner": brow})
    sizing = found(creature, "brow_inner", 0.3)
    for candidate in sizing.candidates:
        written(tmp_path, creature, candidate)
        after = found(load(tmp_path), "brow_inner", 0.3).now
        assert after is not None
        assert after.use == pytest.approx(candidate.use, rel=1e-9)
        head(tmp_path, {"brow_inner": brow})
    assert sizing.candidates


def test_more_time_is_told_where_it_would_do(tmp_path: Path) -> None:
    creature = head(tmp_path, {"lip_corner": corner(CRANK, more="mass: 20 g, friction: 6 N")})
    sizing = found(creature, "lip_corner", 0.05)
    assert not any(candidate.performs for candidate in sizing.candidates)
    told = next(told.sentence for told in sizing.told if told.code == "no_linkage")
    assert "in 0.05 s; with" in told
    assert any("whole travel in 0.05 s" in told.sentence for told in sizing.told)
    seconds = float(told.partition("; with ")[2].partition(" s ")[0])
    later = found(creature, "lip_corner", seconds)
    assert any(candidate.performs for candidate in (*later.candidates, *([later.now] if later.now else [])))


def test_a_part_that_makes_whole_travels_asks_what_whole_travels_ask(tmp_path: Path) -> None:
    """A least-jerk move from end to end in 0.4 s, as a series: at each place its speed, as the closed form has it there."""
    creature = head(tmp_path, {"lip_corner": corner(CRANK)})
    s = np.clip((np.arange(2400) / 240.0 - 2.0) / 0.4, 0.0, 1.0)
    row = -0.005 + 0.014 * s**3 * (10.0 - 15.0 * s + 6.0 * s * s)
    part, whole = (
        asked_by({"lip_corner": row}, 240.0)(creature, "lip_corner"),
        asked_within(0.4)(creature, "lip_corner"),
    )
    assert isinstance(part, Ask)
    assert isinstance(whole, Ask)
    inside = slice(3, -3)
    assert part.first.speed[inside] == pytest.approx(whole.first.speed[inside], rel=0.08)
    assert part.first.speed.max() == pytest.approx(whole.first.speed.max(), rel=0.01)
    assert part.first.acceleration.max() == pytest.approx(whole.first.acceleration.max(), rel=0.05)
    assert part.seconds is None
    assert "what the part asks of it, up to 65.6 mm/s" in part.told[0].sentence  # 1.875 x 14 mm / 0.4 s


def test_a_part_that_asks_nothing_is_told(tmp_path: Path) -> None:
    creature = head(tmp_path, {"lip_corner": corner(CRANK)})
    got = size(creature, "lip_corner", asked_by({"lip_corner": np.zeros(240)}, 240.0))
    assert isinstance(got, Unknown)
    assert "asks nothing of it" in got.why


def test_what_is_passed_over_between_two_samples_is_asked_too(tmp_path: Path) -> None:
    ask = asked_of(head(tmp_path, {"lip_corner": corner(CRANK)}), "lip_corner")
    assert isinstance(ask, Ask)
    jump = np.where(np.arange(200) < 100, -0.004, 0.006)  # ten millimetres from one sample to the next
    speed = paced(ask, [jump], 240.0, "").first.speed
    assert (speed[ask.first.grid < -0.0045] == 0.0).all()
    assert (speed[(ask.first.grid > -0.0035) & (ask.first.grid < 0.0055)] > 1.0).all()
