"""A shop that does what the tests of a finding tell it, and writes every number where it is told to."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from io import StringIO
from pathlib import Path
from typing import Any, Final

import numpy as np
from ruamel.yaml import YAML

from marotte.basis.contracts.finding import Finding
from marotte.basis.contracts.mech import Skin

UNWRITTEN: Final = {"usable": "80 %", "call_length": "20 min"}
"""What stands for a field that the file does not write: the schema's own."""
MEASURED: Final = re.compile(r"value: ([\d.]+)([^{},]*), source: measured")


def carry_out(folder: Path, item: Finding, skins: Sequence[Skin] = (), comes_out: float = 1.0) -> None:
    """Carry out all tests of a finding, each of which comes out at ``comes_out`` times what stands in the file.

    A skin is pulled as the mechanisms' own table of it pulls.
    """
    assert item.settle, item.id
    path = folder / "creature.yaml"
    yaml = YAML()
    data = yaml.load(path.read_text(encoding="utf-8"))
    for one in item.settle:
        _type_in(folder, data, one.test, {skin.name: skin for skin in skins}, comes_out)
    out = StringIO()
    yaml.dump(data, out)
    path.write_text(out.getvalue(), encoding="utf-8")


def _type_in(folder: Path, data: Any, text: str, skins: Mapping[str, Skin], comes_out: float) -> None:
    text = MEASURED.sub(lambda hit: f"value: {float(hit[1]) * comes_out:.6g}{hit[2]}, source: measured", text)
    entry = re.search(r"Under servos write `(\w+): (\{.*\})`, with your number", text)
    own = re.search(r"At servos > (\w+) write `(.*)`, with your number", text)
    field = re.search(r"Write it as `(\w+)` in (.*), with source: measured", text)
    plain = re.search(r"Write it at (.*?)(?:, with source: measured)?\.$", text)
    several = re.search(r"Write them at shop > (\w+), in place of these: `(.*)`", text)
    curve = re.search(r"Write the stretches (.*) and the forces .* into (\S+\.csv).* at skins > (\w+) put curve", text)
    if entry:
        name, block = entry.group(1), YAML().load(entry.group(2))
        data.setdefault("servos", {})[name] = block
        _models(data, str(block["like"]), name)
    elif own:
        data["servos"][own.group(1)].update(YAML().load("{" + own.group(2) + "}"))
    elif several:
        prices = YAML().load("{" + several.group(2) + "}")
        held = data.setdefault("shop", {}).setdefault(several.group(1), {})
        held.update({name: _times(value, comes_out) for name, value in prices.items()})
    elif curve:
        stretches = [float(found) for found in re.findall(r"([\d.]+) mm", curve.group(1))]
        table = next(skin for name, skin in skins.items() if name.startswith(curve.group(3)))
        forces = [comes_out * float(np.interp(1e-3 * s, table.curve[0], table.curve[1])) for s in stretches]
        file = folder / curve.group(2)
        file.parent.mkdir(exist_ok=True)
        rows = [f"{s},{f}" for s, f in zip(stretches, forces, strict=True)]
        file.write_text("\n".join(["stretch [mm],force [N]", *rows]) + "\n", encoding="utf-8")
        card = data["skins"][curve.group(3)]
        del card["strip"]
        card.update({"curve": curve.group(2), "source": "measured"})
    else:
        assert field or plain, text
        told = f"{field.group(2)} > {field.group(1)}" if field else plain.group(1)  # type: ignore[union-attr]
        *way, last = (int(step) if step.isdigit() else step for step in told.split(" > "))
        holder: Any = data
        for step in way:
            holder = holder.setdefault(step, {}) if isinstance(holder, dict) else holder[step]
        value = holder.get(last, UNWRITTEN.get(str(last))) if isinstance(holder, dict) else holder[last]
        holder[last] = {
            "value": _times(value["value"] if isinstance(value, dict) else value, comes_out), "source": "measured",
        }  # fmt: skip


def _times(written: Any, factor: float) -> str:
    number, _, unit = str(written).partition(" ")
    return f"{float(number) * factor:.6g} {unit}".strip()


def _models(node: Any, model: str, becomes: str) -> None:
    if isinstance(node, dict):
        for key, value in node.items():
            if key == "model" and value == model:
                node[key] = becomes
            else:
                _models(value, model, becomes)
    elif isinstance(node, list):
        for value in node:
            _models(value, model, becomes)
