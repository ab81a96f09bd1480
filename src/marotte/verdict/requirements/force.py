"""What a torque at an input is made of, written out term by term for drive, hold and their kin."""

from __future__ import annotations

import math

import numpy as np

from marotte.basis.frames import Vec, rotation
from marotte.creature.schema.mechs import Cable, PullPull
from marotte.verdict.points import Terms
from marotte.verdict.requirements.borne import Borne, Held, Moved
from marotte.verdict.workings import PRACTICE, Writer

TABLES = 2e-3
"""How closely a working must meet the engine here: loads, skins and transmissions are read between places of tables."""
INERTIA_ALLOWANCE = 1.1
"""Inertia of a part over that of its mass at its centre, where the file gives none (common practice, no source)."""


def write_torque(w: Writer, pull: Borne) -> str:
    """Write the torque at the input, term by term, and return its symbol."""
    at = pull.where
    sums: list[str] = []
    for moved, term in zip(pull.outputs, pull.point.terms, strict=True):
        parts = _output_terms(w, pull, moved, term, at)
        if not parts:
            continue
        force = "N*m" if moved.unit == "rad" else "N"
        total = w.worked("F_out", f"all that {moved.name} wants", " + ".join(parts), force)
        rate = w.read(
            "r",
            f"{moved.name} per turn of the input",
            f"mech: rate[{moved.name}] at {at}",
            term.rate,
            _rate_unit(moved, pull.input_unit),
        )
        sums.append(f"{rate}*{total}")
    text = " + ".join(sums) or "0*" + w.rule("none", "nothing is borne", 0.0, "N*m", "no load in the file")
    if pull.point.efficiency != 1.0:
        eta = _efficiency(w, pull)
        text = f"({text})/{eta}" if pull.point.driven else f"({text})*{eta}"
    if pull.point.dry:
        text += f" + {_dry(w, pull)}"
    if pull.input_unit == "m":
        return w.worked("F_need", "force wanted at the input", f"abs({text})", "N")
    return w.worked("tau_need", "torque wanted at the input", f"abs({text})", "N*m")


def _efficiency(w: Writer, pull: Borne) -> str:
    """Write what of the input reaches the output: of the file, times what a wire loses round its bends (capstan)."""
    mech, wanted = pull.mech, pull.point.efficiency
    if math.isclose(mech.efficiency, wanted, rel_tol=1e-9):
        return w.given(mech, "efficiency")
    if isinstance(mech, (Cable, PullPull)) and pull.liner is not None:
        bends = sum(mech.bends)
        if math.isclose(mech.efficiency * math.exp(-pull.liner.friction * bends), wanted, rel_tol=1e-6):
            mu = w.given(pull.liner, "friction")
            turns = [w.given(mech, "bends", k, symbol="phi") for k in range(len(mech.bends))]
            text = f"exp(-{mu}*({' + '.join(turns)}))"
            if mech.efficiency != 1.0:
                text = f"{w.given(mech, 'efficiency')}*{text}"
            return w.worked("eta_w", "what the wire passes on round its bends (capstan)", text, "1")
    return w.read(
        "eta", "what of the input reaches the output", f"mech: transmission[{pull.name}].forward", wanted, "1"
    )


def _dry(w: Writer, pull: Borne) -> str:
    """Write the dry friction at the input, with its sign."""
    size, unit_ = abs(pull.point.dry), "N" if pull.input_unit == "m" else "N*m"
    if math.isclose(size, pull.mech.friction, rel_tol=1e-9):
        friction = w.given(pull.mech, "friction", unit=unit_)
    else:
        friction = w.read("tau_dry", "dry friction at the input", f"mech: transmission[{pull.name}].dry", size, unit_)
    way = math.copysign(1.0, pull.point.dry)
    sign = w.read("s_w", "which way the input turns", f"script: asked at {pull.where}", way, "1")
    return f"{friction}*{sign}"


def _rate_unit(moved: Moved, given: str) -> str:
    return "1" if moved.unit == given else f"{moved.unit}/{given}"


def _output_terms(w: Writer, pull: Borne, moved: Moved, term: Terms, at: str) -> list[str]:
    load, unit_ = moved.function.load, "N*m" if moved.unit == "rad" else "N"
    parts: list[str] = []
    mass = ""
    arm, square = _square_gravity(moved, term)
    if load.mass > 0.0 and (arm > 1e-9 or moved.unit == "m"):
        mass = w.given(load, "mass")
        g = w.read(
            "g_s", "gravity square to the centre's arm, worst attitude", f"{moved.name} at {at}", square, "m/s**2"
        )
        if moved.unit == "rad":
            rho = _arm(w, moved)
            parts.append(w.worked("tau_g", "gravity", f"{mass}*{g}*{rho}", unit_))
        else:
            parts.append(w.worked("F_g", "gravity", f"{mass}*{g}", unit_))
    if load.spring is not None:
        k = w.given(load.spring, "rate", unit=f"{unit_}/rad" if moved.unit == "rad" else "N/m")
        slack = w.given(
            load.spring, "slack_at", symbol="q_0", meaning="where the spring bears nothing", unit=moved.unit
        )
        q = w.read("q", f"position of {moved.name}", f"script: asked at {at}", term.position, moved.unit)
        parts.append(w.worked("tau_k", "spring", f"{k}*({q} - {slack})", unit_))
    mech = moved.function.mech
    if isinstance(mech, Cable) and mech.returns == "spring":
        parts.append(_return(w, mech, moved, term, at, unit_))
    for name, hold, length in term.skins:
        parts.append(_skin(w, pull, name, hold, length, moved, at))
    if term.friction:
        parts.append(_signed(w, w.given(load, "friction", unit=unit_), term.friction, moved.name, at, unit_))
    if term.viscous:
        c = w.given(load, "damping")
        v = w.read("v", f"speed of {moved.name}", f"script: asked at {at}", term.speed, f"{moved.unit}/s")
        parts.append(w.worked("tau_c", "viscous friction", f"{c}*{v}", unit_))
    if term.inertia:
        parts.append(_inertia(w, moved, term, mass, at))
    return parts


def _return(w: Writer, mech: Cable, moved: Moved, term: Terms, at: str, unit_: str) -> str:
    """Write the pull of a cable's return spring at the output."""
    text = w.given(mech, "preload", unit=unit_) if mech.preload is not None else ""
    if mech.spring is not None:
        k = w.given(mech, "spring", unit="N*m/rad" if moved.unit == "rad" else "N/m")
        q = w.read("q", f"position of {moved.name}", f"script: asked at {at}", term.position, moved.unit)
        q0 = w.given(moved.function, "neutral", symbol="q_0", meaning="neutral", unit=moved.unit)
        text += (" + " if text else "") + f"{k}*({q} - {q0})"
    return w.worked(
        "F_r", "return spring", text or f"0*{w.rule('none', 'no spring is written', 0.0, unit_, 'the file')}", unit_
    )


def _signed(w: Writer, friction: str, value: float, name: str, at: str, unit_: str) -> str:
    sign = w.read("s_q", f"which way {name} moves", f"script: asked at {at}", math.copysign(1.0, value), "1")
    return w.worked("tau_f", "dry friction", f"{friction}*{sign}", unit_)


def _arm(w: Writer, moved: Moved) -> str:
    """Write the distance of the load's centre from the axis; from coordinates where the axis is one of the frame's."""
    load, axis = moved.function.load, moved.axis or (1.0, 0.0, 0.0)
    along = [k for k in range(3) if abs(abs(axis[k]) - 1.0) < 1e-12]
    if not along:
        c = np.array(moved.centre)
        rho = float(np.linalg.norm(c - (c @ np.array(axis)) * np.array(axis)))
        return w.read(
            "rho", "distance of the centre from the axis", "from the centre and the axis in the file", rho, "m"
        )
    a, b = (
        w.given(load, "centre", k, symbol="xyz"[k], meaning=f"centre of mass, {'xyz'[k]}")
        for k in range(3)
        if k != along[0]
    )
    return w.worked("rho", "distance of the centre from the axis", f"sqrt({a}**2 + {b}**2)", "m")


def _inertia(w: Writer, moved: Moved, term: Terms, mass: str, at: str) -> str:
    turning = moved.unit == "rad"
    unit_ = "N*m" if turning else "N"
    a = w.read("a", f"acceleration of {moved.name}", f"script: asked at {at}", term.acceleration, f"{moved.unit}/s**2")
    effective = term.inertia / term.acceleration
    load = moved.function.load
    if not turning and load.mass > 0.0 and math.isclose(effective, load.mass, rel_tol=1e-6):
        return w.worked("F_a", "inertia", f"{mass or w.given(load, 'mass')}*{a}", unit_)
    own = math.dist((0.0, 0.0, 0.0), _across(moved)) ** 2 * load.mass
    if turning and load.inertia is not None and not own and math.isclose(effective, load.inertia, rel_tol=1e-6):
        return w.worked("tau_a", "inertia", f"{w.given(load, 'inertia')}*{a}", unit_)
    if turning and load.inertia is not None and math.isclose(effective, load.inertia + own, rel_tol=1e-6):
        j0 = w.given(load, "inertia")
        rho = (
            _arm(w, moved)
            if own
            else w.rule("rho", "distance of the centre from the axis", 0.0, "m", "as the file has it")
        )
        return w.worked("tau_a", "inertia", f"({j0} + {mass or w.given(load, 'mass')}*{rho}**2)*{a}", unit_)
    if turning and load.inertia is None and own and math.isclose(effective, INERTIA_ALLOWANCE * own, rel_tol=1e-6):
        k = w.rule("k_J", "inertia over that of a point mass", INERTIA_ALLOWANCE, "1", PRACTICE)
        return w.worked("tau_a", "inertia", f"{k}*{mass or w.given(load, 'mass')}*{_arm(w, moved)}**2*{a}", unit_)
    j = w.read(
        "J", f"inertia of {moved.name}", f"mech: load[{moved.name}].inertia", effective, "kg*m**2" if turning else "kg"
    )
    return w.worked("tau_a", "inertia", f"{j}*{a}", unit_)


def _across(moved: Moved) -> Vec:
    c, u = np.array(moved.centre), np.array(moved.axis or (1.0, 0.0, 0.0))
    across = c - (c @ u) * u
    return (float(across[0]), float(across[1]), float(across[2]))


def _square_gravity(moved: Moved, term: Terms) -> tuple[float, float]:
    """Return (distance of the centre from the axis [m], gravity square to it [m/s2], positive against the motion)."""
    axis = np.array(moved.axis or (1.0, 0.0, 0.0))
    if moved.unit == "m":
        return 0.0, -float(axis @ np.array(term.down))
    arm = math.dist((0.0, 0.0, 0.0), _across(moved))
    if arm < 1e-9:
        return 0.0, 0.0
    turned = rotation(moved.axis or (1.0, 0.0, 0.0), term.position) @ np.array(moved.centre)
    return arm, -float(axis @ np.cross(turned, np.array(term.down))) / arm


def _skin(w: Writer, pull: Borne, name: str, hold: float, length: float, moved: Moved, at: str) -> str:
    held = next(item for item in pull.skins if item.name == name)
    h = w.given(held.card, "holds", moved.name if moved.name in held.card.holds else None, symbol="h",
                meaning=f"stretch of {name} per {moved.name}", unit="m/rad" if moved.unit == "rad" else "1")  # fmt: skip
    force = _skin_force(w, held, length, at)
    return w.worked("tau_s", f"skin {name}", f"{h}*{force}", "N*m" if moved.unit == "rad" else "N")


def _skin_force(w: Writer, held: Held, length: float, at: str) -> str:
    """Write the pull of a skin at a stretch [m], and return its symbol."""
    strip, stuff = held.card.strip, held.stuff
    x = w.read("x_s", f"stretch of {held.name}", f"mech: skin[{held.name}] at {at}", length, "m")
    lock = float("inf") if strip is None or held.backing is None else (held.backing.locks_at - 1.0) * strip.length
    if strip is None or stuff is None or not 0.0 <= length <= lock:
        pull = held.pull_at(length)
        if held.measured_to is not None and length > held.measured_to:
            # past its table it may pull no more than at the end, or twice as much more as a straight line: a rule of this project
            more = abs(pull - held.pull_at(held.measured_to))
            said, where = (
                f"pull of {held.name} past the end of its table",
                f"gone on in a straight line from {1e3 * held.measured_to:.3g} mm",
            )
            return w.surveyed("F_s", said, pull, "N", where, held.card.ref("curve"), more)
        return w.read("F_s", f"pull of {held.name}", f"mech: skin[{held.name}].curve at that stretch", pull, "N")
    mu, t, b, l0 = (
        w.given(stuff, "modulus", meaning=f"stiffness of the skin {held.name}, its shear modulus (neo-Hookean)"),
        w.given(strip, "thickness"),
        w.given(strip, "width", symbol="w_s"),
        w.given(strip, "length"),
    )
    area = f"{b}*{t}"
    if strip.relief:
        area += f"*(1 - {w.given(strip, 'relief')})"
    modulus = mu
    if held.backing is not None and held.backing.factor != 1.0:
        modulus += f"*{w.given(held.backing, 'factor')}"
    low, high = held.band
    day = w.swing(
        "k_T",
        f"1, as at 22 degC and new; in use from {low:.2g} (40 degC, after the first takes) to {high:.2g} (5 degC)",
        low,
        high,
        f"1 by definition: the stock's stiffness is that at 22 degC, new; the ends by skins > {strip.material} > warm, creep and cold",
    )
    ratio = w.worked("lam", "ratio of its lengths", f"1 + {x}/{l0}", "1")
    text = f"{day}*{modulus}*{area}*({ratio} - {ratio}**-2)"
    return w.worked("F_s", f"pull of {held.name}, neo-Hookean strip", text, "N")
