"""What skins pull: one stretch and one force for each, handed to all its holds, so that no energy is made."""

from __future__ import annotations

from marotte.basis.contracts.common import F64, I64
from marotte.drive.compiled import inside
from marotte.drive.lookup import position
from marotte.drive.plan import (
    CURVE0,
    CURVE_M,
    FITS,
    HOLD0,
    HOLD1,
    HOLD_AT,
    HOLD_LANE,
    HOLD_NEXT,
    HOLD_OUT,
    POSITION,
    PULL,
    PULLED,
    RATE0,
    SKIN_INV,
    SKIN_LO,
    SKIN_REST,
)  # fmt: skip


@inside
def skins(
    skin_f: F64, skin_i: I64, hold_f: F64, hold_i: I64, curve: F64, t: F64, drive: F64, out: F64, hold: F64
) -> None:
    """Set what the skins pull: at the inputs of one-input mechs, and on all other outputs.

    Args:
        skin_f: (s, SKIN_COLS), and so on, of the Plan.
        skin_i: see there.
        hold_f: see there.
        hold_i: see there.
        curve: see there.
        t: see there.
        drive: (blocks * BLOCK,), and so on, of the State; places as ``set_place`` found them, pulls zero.
        out: see there; positions are read and forces set where no one-input mech moves the output.
        hold: see there.
    """
    for k in range(len(hold_i)):
        lane = hold_i[k, HOLD_LANE]
        if lane >= 0:
            hold[k, POSITION], hold[k, RATE0] = position(lane, hold_i[k, HOLD_AT], hold_i[k, HOLD_NEXT], t, drive)
        else:
            o = hold_i[k, HOLD_OUT] & FITS
            hold[k, POSITION] = out[o, POSITION]
            out[o, PULL] = 0.0
    for s in range(len(skin_f)):
        first, stop = skin_i[s, HOLD0] & FITS, skin_i[s, HOLD1] & FITS
        stretch = -skin_f[s, SKIN_REST]
        for k in range(first, stop):
            stretch += hold_f[k] * hold[k, POSITION]
        x = (stretch - skin_f[s, SKIN_LO]) * skin_f[s, SKIN_INV]
        i = min(max(int(x), 0), skin_i[s, CURVE_M] - 2)
        base = (skin_i[s, CURVE0] + i) & FITS
        force = curve[base] + (x - i) * (curve[base + 1] - curve[base])
        for k in range(first, stop):
            lane, pull = hold_i[k, HOLD_LANE], hold_f[k] * force
            if lane >= 0:
                drive[(lane & FITS) + PULLED] += hold[k, RATE0] * pull
            else:
                out[hold_i[k, HOLD_OUT] & FITS, PULL] -= pull
