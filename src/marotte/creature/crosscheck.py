"""What no single record can see: names that must exist, trees that must not loop, functions that must be moved once."""

from __future__ import annotations

import math
from collections.abc import Mapping
from itertools import pairwise
from typing import Final

from marotte.basis.faults import Fault, nearest, short
from marotte.basis.given import Given, Ref
from marotte.creature.anatomy import EYE_SPACING, PARTS
from marotte.creature.creature import all_points
from marotte.creature.hatches import WAYS, hatch_point, hatch_ways
from marotte.creature.origin import Block
from marotte.creature.report import Report
from marotte.creature.schema.file import CreatureFile
from marotte.creature.schema.means import Servo
from marotte.creature.schema.mechs import BallRod, Cable, PullPull, TeeBar, TwoRodGimbal
from marotte.creature.schema.supply import Mains, Supply
from marotte.creature.shelf import Stock


def crosscheck(file: CreatureFile, root: Block, given: Mapping[Ref, Given], stock: Stock) -> list[Fault]:
    """Return every fault between the parts of a file, in no particular order."""
    report = Report(root)
    _moved_once(file, report)
    _parts(file, report, given)
    _joined_counts(file, report)
    _supply(file, report, stock)
    _bench_tests(file, report)
    _points(file, report)
    _hatches(file, report)
    _directions(file, report)
    _people(file, report, stock)
    _stuffs(file, report, stock)
    _shop(file, report, stock)
    _looks(file, report)
    for text, mood in file.brief.moods.items():
        report.known(file.brief, f"moods/{text}", mood, file.poses.moods, "a mood under poses > moods")
    return list(dict.fromkeys(report.faults))  # both sides of a pair say the same


def servos_of(file: CreatureFile) -> list[Servo]:
    """Return every servo among the means of a file."""
    inline = [function.means for function in file.functions.values()]
    joined = [means for mech in file.mechs.values() for means in mech.means.values()]
    return [means for means in (*inline, *joined) if isinstance(means, Servo)]


DIRECTIONS: Final = ("axis", "along", "horn_axis", "arm_axis")


def _directions(file: CreatureFile, report: Report) -> None:
    """Report directions that point nowhere, and a case whose long side is written to lie along its shaft."""
    boxes = [servo.box for servo in servos_of(file) if servo.box is not None]
    mechs = [function.mech for function in file.functions.values() if function.mech is not None]
    mechs += [joined.mech for joined in file.mechs.values()]
    for record in (*file.functions.values(), *mechs, *boxes):
        for field in DIRECTIONS:
            way = getattr(record, field, None)
            if way is not None and math.hypot(*way) < 1e-9:
                what = "a direction of three zeros points nowhere"
                report.add(
                    "geometry", record.ref(field), what, try_="[1, 0, 0] to its left, [0, 1, 0] up, [0, 0, 1] forward"
                )
    for box in boxes:
        size = math.hypot(*box.axis) * math.hypot(*box.along)
        along = abs(sum(a * b for a, b in zip(box.axis, box.along, strict=True)))
        if size > 1e-18 and along > (1.0 - 1e-6) * size and not box.ref("along").startswith("default:"):
            what = "the long side of a servo's case cannot lie along its shaft"
            report.add("geometry", box.ref("along"), what, try_="give along a direction square to axis")


def _moved_once(file: CreatureFile, report: Report) -> None:
    movers: dict[str, list[str]] = {name: [] for name in file.functions}
    for name, function in file.functions.items():
        if function.means is not None:
            movers[name].append("its own means")
    for name, joined in file.mechs.items():
        for moved in joined.moves:
            movers.setdefault(moved, []).append(f"mechs > {name}")
    for name, function in file.functions.items():
        by = movers[name]
        if len(by) > 1:
            report.add(
                "twice",
                function.ref(""),
                f"{name} is moved twice: by {' and by '.join(by)}",
                try_="keep one of the two",
            )
        elif not by and function.mech is None:
            advice = "write its means, or name it in the moves of an entry of mechs"
            report.add("unmoved", function.ref(""), f"nothing moves {name}", try_=advice)
        if function.mech is not None and function.means is None:
            report.add(
                "missing", function.ref("mech"), f"{name} has a mech and no means", try_="write who pushes it: means"
            )


def _parts(file: CreatureFile, report: Report, given: Mapping[Ref, Given]) -> None:
    for name, function in file.functions.items():
        report.known(function, "part", function.part, PARTS, "a part of the anatomy")
        part = PARTS.get(function.part)
        if part is None:
            continue
        if part.axis is None and function.axis is None:
            report.add("missing", function.ref("part"), f"{name} needs its axis: {function.part} has none of its own")
        unit = "rad" if part.kind == "turn" else "m"
        wanted = "degrees" if part.kind == "turn" else "millimetres"
        written = [("travel", 0), ("travel", 1), ("neutral", None), ("power_off", None), ("failsafe", None)]
        for field, item in written:
            found = given.get(function.ref(field, item))
            if found is not None and found.unit != unit and found.value != 0.0:
                what = f"{name}: a {function.part} {part.kind}s, so its {field} is in {wanted}"
                report.add("unit", found.ref, what, found=found.written)


def _joined_counts(file: CreatureFile, report: Report) -> None:
    """Counts of inputs and outputs that a kind of mech must have."""
    for name, joined in file.mechs.items():
        record = joined.mech
        two = isinstance(record, TwoRodGimbal)
        if len(joined.means) != (2 if two else 1):
            what = f"{name}: a {record.kind} has {2 if two else 1} means, {len(joined.means)} are written"
            report.add("geometry", joined.ref("means"), what)
        if two and len(joined.moves) != 2:
            what = f"{name}: a {record.kind} moves 2 functions, {len(joined.moves)} are written"
            report.add("geometry", joined.ref("moves"), what)
        if isinstance(record, TeeBar) and len(record.shares) != len(joined.moves):
            what = f"{name}: {len(record.shares)} shares for {len(joined.moves)} functions"
            report.add("geometry", joined.ref("moves"), what)
        if not isinstance(record, (TwoRodGimbal, TeeBar)) and len(joined.moves) != 1:
            what = f"{name}: a {record.kind} moves one function, {len(joined.moves)} are written"
            report.add("geometry", joined.ref("moves"), what, try_="a tee_bar shares one input out over several")
    for name, function in file.functions.items():
        if isinstance(function.mech, (TwoRodGimbal, TeeBar)):
            what = f"{name}: a {function.mech.kind} moves several functions"
            report.add("geometry", function.ref("mech"), what, try_="write it under mechs")


def _supply(file: CreatureFile, report: Report, stock: Stock) -> None:
    servos = servos_of(file)
    for servo in servos:
        report.known(servo, "model", servo.model, {*file.servos, *stock.servos}, "a servo of this file or of the stock")
    if file.supply is None:
        if servos:
            advice = "write supply: with a battery and a lead"
            report.add("missing", "/supply", "there are servos, and no supply feeds them", try_=advice)
        return
    leads, in_loops = file.supply.leads, set[str]()
    for name, lead in leads.items():
        report.known(lead, "fed_by", lead.fed_by, ("battery", *leads), "the battery or a lead")
        seen, at = [name], lead.fed_by
        while at in leads and at not in seen:
            seen.append(at)
            at = leads[at].fed_by
        if at == name and name not in in_loops:
            in_loops.update(seen)
            what = f"the supply comes back to itself: {' <- '.join((*seen, name))}"
            report.add("loop", lead.ref("fed_by"), what, try_="feed one of them from the battery")
    if not report.faults:
        _fed(file.supply, report, stock)
    for servo in servos:
        report.known(servo, "lead", servo.lead, leads, "a lead")
        if servo.lead is None and len(leads) != 1:
            allowed = ", ".join(sorted(leads)) or "no lead is written under supply"
            report.add(
                "missing",
                servo.ref("model"),
                "this servo does not say which lead feeds it",
                allowed=allowed,
                try_="write lead:",
            )


def _fed(supply: Supply, report: Report, stock: Stock) -> None:
    """A regulator only takes down: it never gives more than what feeds it."""
    battery = supply.battery
    full = battery.volts if isinstance(battery, Mains) else battery.cells * stock.batteries[battery.kind].full
    for name, lead in supply.leads.items():
        regulator, at = lead.regulator, lead.fed_by
        if regulator is None:
            continue
        above = full
        while at in supply.leads:
            upper = supply.leads[at]
            if upper.regulator is not None:
                above = upper.regulator.volts
                break
            at = upper.fed_by
        if regulator.volts > above:
            what = f"{name}: a regulator of {regulator.volts:g} V is fed by {above:g} V at best"
            report.add("bounds", regulator.ref("volts"), what, try_="more cells, or a lower voltage")


def _bench_tests(file: CreatureFile, report: Report) -> None:
    """A servo that carries more turns no faster: rows of a test that say so are a slip of the pen."""
    for name, servo in file.servos.items():
        rows = sorted(servo.measured, key=lambda row: (row.at, row.torque))
        if len(rows) == 1:
            report.add("measured", servo.ref("measured"), f"{name}: one row is no test", try_="write two loads or more")
        for light, heavy in pairwise(rows):
            if light.at == heavy.at and (heavy.speed > light.speed or heavy.torque == light.torque):
                what = f"{name}: the bench test at {heavy.at:g} V folds back at {heavy.torque:g} N*m"
                report.add("order", heavy.ref("speed"), what, allowed="each load once, the heavier no faster")


def _points(file: CreatureFile, report: Report) -> None:
    written = set(file.build.points)
    mirrored = {name.removesuffix("_left") + "_right" for name in written if name.endswith("_left")}
    paired = {name.removesuffix("_left") for name in written if name.endswith("_left")}
    alone = written | mirrored
    for function in file.functions.values():
        options = alone | paired if function.side else alone
        if isinstance(function.at, str):
            report.known(function, "at", function.at, options, "a point under build > points")
    for mech, side in [(f.mech, f.side) for f in file.functions.values()] + [
        (j.mech, j.side) for j in file.mechs.values()
    ]:
        if not isinstance(mech, BallRod):
            continue
        options = alone | paired if side else alone
        for field in ("horn_at", "arm_at"):
            place = getattr(mech, field)
            if isinstance(place, str):
                report.known(mech, field, place, options, "a point under build > points")


def _hatches(file: CreatureFile, report: Report) -> None:
    """Every hatch says which way things come out: by a word of its name, or by a point."""
    skull = file.build.skull
    if skull is None or skull.hatch is None:
        return
    names = (skull.hatch,) if isinstance(skull.hatch, str) else skull.hatch
    for item, name in enumerate(names):
        if hatch_ways((name,), all_points(file.build), skull.centre)[1]:
            ref = skull.ref("hatch") if isinstance(skull.hatch, str) else skull.ref("hatch", item)
            what = f"nobody knows where the hatch {short(name)} opens"
            allowed = f"{', '.join(WAYS)}, or any name with a point {hatch_point(name)} under build > points"
            report.add("no_such", ref, what, allowed=allowed, try_=nearest(name, WAYS), found=short(name))


def _looks(file: CreatureFile, report: Report) -> None:
    """A look between the eyes themselves has no direction."""
    eye = file.build.eye
    least = 0.5 * (eye.spacing if eye is not None else EYE_SPACING)
    for name, target in file.brief.looks.items():
        if math.hypot(*target.at) < least:
            what = f"{name} lies between the eyes themselves: nothing can look there"
            report.add("geometry", target.ref("at"), what, try_="[0 m, 0 m, 2 m] is two metres straight ahead of them")


def _people(file: CreatureFile, report: Report, stock: Stock) -> None:
    for control in file.controls.values():
        report.known(control, "kind", control.kind, stock.controls, "a control of the stock")
        report.known(control, "of", control.of, file.performers, "a performer")
    for function in file.functions.values():
        means = function.means
        if means is not None and not isinstance(means, Servo):
            report.known(means, "of", getattr(means, "of", None), file.performers, "a performer")
            report.known(means, "control", getattr(means, "control", None), file.controls, "a control")


def _shop(file: CreatureFile, report: Report, stock: Stock) -> None:
    priced = sorted({*stock.servos, *file.servos, *stock.joints, *stock.skins})
    for field, names, what in (
        ("prices", priced, "anything that has a price"),
        ("hours", sorted(stock.hours), "a kind of work"),
    ):
        for name in getattr(file.shop, field):
            if name not in names:
                near = nearest(name, names)
                allowed = ", ".join(names)
                report.add(
                    "no_such",
                    file.shop.ref(field, name),
                    f"{name} is not {what}",
                    allowed=allowed,
                    try_=near,
                    found=name,
                )


def _stuffs(file: CreatureFile, report: Report, stock: Stock) -> None:
    for skin in file.skins.values():
        if skin.strip is not None:
            report.known(skin.strip, "material", skin.strip.material, stock.skins, "a skin of the stock")
    for mech in (*(f.mech for f in file.functions.values()), *(j.mech for j in file.mechs.values())):
        if isinstance(mech, (Cable, PullPull)):
            report.known(mech, "liner", mech.liner, stock.liners, "a liner of the stock")
            if isinstance(mech.core, str):
                report.known(mech, "core", mech.core, stock.wires, "a wire of the stock")
