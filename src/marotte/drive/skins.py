"""What skins pull: one stretch and one force for each, handed to all its holds, so that no energy is made."""

from __future__ import annotations

from marotte.basis.contracts.common import F64, I64
from marotte.drive.compiled import inside
from marotte.drive.lookup import position
from marotte.drive.plan import (
    CURVE0,
    CURVE_M,
    FITS,
    FORCE,
    HOLD_AT,
    HOLD_LANE,
    HOLD_NEXT,
    HOLD_OUT,
    HOLD_SKIN,
    POSITION,
    PULL,
    PULLED,
    SKIN_INV,
    SKIN_LO,
    SKIN_REST,
    STRETCH,
)  # fmt: skip


@inside
def skins(
    skin_f: F64, skin_i: I64, hold_f: F64, hold_i: I64, curve: F64, t: F64, drive: F64, out: F64, skin: F64, rate: F64
) -> None:
    """Set what the skins pull: at the inputs of one-input mechs, and on all other outputs.

    Three plain loops, holds, skins, holds: in none of them does one turn wait for the one before it.

    Args:
        skin_f: (s, SKIN_COLS), and so on, of the Plan.
        skin_i: see there.
        hold_f: see there.
        hold_i: see there.
        curve: see there.
        t: see there.
        drive: (blocks * BLOCK,), and so on, of the State; places as ``set_place`` found them, pulls zero.
        out: see there; positions are read and forces set where no one-input mech moves the output.
        skin: see there.
        rate: see there.
    """
    for s in range(len(skin_f)):
        skin[s, STRETCH] = -skin_f[s, SKIN_REST]
    for k in range(len(hold_i)):
        lane, s = hold_i[k, HOLD_LANE], hold_i[k, HOLD_SKIN] & FITS
        if lane >= 0:
            at, rate[k] = position(lane, hold_i[k, HOLD_AT], hold_i[k, HOLD_NEXT], t, drive)
        else:
            o = hold_i[k, HOLD_OUT] & FITS
            at = out[o, POSITION]
            out[o, PULL] = 0.0
        skin[s, STRETCH] += hold_f[k] * at
    for s in range(len(skin_f)):
        x = (skin[s, STRETCH] - skin_f[s, SKIN_LO]) * skin_f[s, SKIN_INV]
        i = min(max(int(x), 0), skin_i[s, CURVE_M] - 2)
        base = (skin_i[s, CURVE0] + i) & FITS
        skin[s, FORCE] = curve[base] + (x - i) * (curve[base + 1] - curve[base])
    for k in range(len(hold_i)):
        lane, pull = hold_i[k, HOLD_LANE], hold_f[k] * skin[hold_i[k, HOLD_SKIN] & FITS, FORCE]
        if lane >= 0:
            drive[(lane & FITS) + PULLED] += rate[k] * pull
        else:
            out[hold_i[k, HOLD_OUT] & FITS, PULL] -= pull
