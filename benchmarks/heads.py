"""Heads of any size for the benchmarks, made in code."""

from __future__ import annotations

import numpy as np
from tests.drive.rigs import (
    BAR,
    HIGH,
    LOSSLESS,
    LOW,
    VOLTS,
    creature,
    four_bar,
    motion,
    planar,
    servo,
    times,
    transmission,
)

from marotte.basis.contracts.common import Motion, f64
from marotte.basis.contracts.mech import Skin
from marotte.creature.schema.supply import Cells, Lead, Mains, Supply
from marotte.drive.model import DriveModel

COUNT, MINUTES, MASS, REACH = 30, 3, 0.08, 0.058


def head(count: int, skins: bool = False, tree: bool = False, lossless: bool = True) -> DriveModel:
    """Return a head of so many functions, each on a four-bar; every second one may pull on a skin."""
    x, q, r, b = four_bar(**BAR, low=LOW, high=HIGH)
    names = [f"f{k}" for k in range(count)]
    stiff = Supply(battery=Mains(kind="bench", volts=VOLTS, limit=1000.0))
    branched = Supply(
        battery=Cells(kind="lithium_polymer", cells=2, capacity=2.2 * 3600, resistance=0.04),
        leads={
            "trunk": Lead(fed_by="battery", awg=14, length=0.3),
            "face": Lead(fed_by="trunk", awg=18, length=0.2),
            "eyes": Lead(fed_by="trunk", awg=18, length=0.2),
        },
    )
    middle = float(0.5 * (q[0] + q[-1]))
    cheeks = tuple(
        Skin(
            name=f"s{k}", holds={names[k]: 0.02, names[k + 1]: -0.015}, sculpted={names[k]: middle, names[k + 1]: middle},
            curve=f64([[-0.02, 0.0, 0.02], [0.0, 0.0, 4.0]]),
        )
        for k in range(0, count - 1, 2)
    )  # fmt: skip
    return creature(
        {name: transmission(name, x, q, r, b) for name in names},
        {name: planar(name, MASS, REACH) for name in names},
        branched if tree else stiff,
        servos={"mini": LOSSLESS if lossless else servo()},
        leads={name: ("face", "eyes")[k % 2] for k, name in enumerate(names)} if tree else None,
        skins=cheeks if skins else (),
    )


def asked(model: DriveModel, length_s: float) -> Motion:
    """Return a part of sines, each function at its own pace, starting from rest."""
    _, q, _, _ = four_bar(**BAR, low=LOW, high=HIGH)
    t = times(length_s)
    soft = np.minimum(t, 1.0) ** 2
    return motion(
        {
            name: 0.5 * (q[0] + q[-1]) + 0.25 * soft * np.sin(2 * np.pi * (0.6 + 0.05 * k) * t + k)
            for k, name in enumerate(model.functions)
        }
    )
