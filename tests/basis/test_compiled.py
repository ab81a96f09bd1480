"""What is compiled and kept on disk follows everything that it was made of."""

from __future__ import annotations

import os
import subprocess
import sys
from importlib import import_module
from pathlib import Path
from shutil import copytree, ignore_patterns

import pytest
from numba import njit
from numba.core.dispatcher import Dispatcher

import marotte
import tests.basis
from marotte.basis.compiled import Stamp, rests_on

HOUSE = Path(marotte.__file__).parent
HERE = tests.basis

# names stand above what they call in `outer`, and the number is in a file without kernels
PACKAGE = {
    "__init__": "",
    "numbers": "MANY = 2.0\nOTHER = 5.0\n",
    "inner": (
        "from marotte.basis.compiled import compiled\nfrom shop.numbers import MANY\n\n\n"
        "@compiled()\ndef times(x):\n    return MANY * x\n"
    ),
    "outer": (
        "from marotte.basis.compiled import compiled\nfrom shop.inner import times\n\n\n"
        "@compiled()\ndef more(x):\n    return less(x) + 1.0\n\n\n"
        "@compiled()\ndef less(x):\n    return times(x) - 0.5\n"
    ),
}
ASK = "from shop.outer import more; print(more(3.0), sum(more.stats.cache_hits.values()))"


def asked(code: str, *path: Path) -> list[str]:
    """Return the words that a fresh process prints."""
    found = subprocess.run(
        [sys.executable, "-c", code],
        env=os.environ | {"PYTHONPATH": os.pathsep.join(map(str, path)), "PYTHONDONTWRITEBYTECODE": "1"},
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    return found.stdout.split()


def test_an_edit_of_what_a_kernel_took_in_is_seen_by_the_next_process_and_nothing_else_compiles_again(
    tmp_path: Path,
) -> None:
    shop = tmp_path / "shop"
    shop.mkdir()
    for name, text in PACKAGE.items():
        (shop / f"{name}.py").write_text(text)

    def edit(name: str, old: str, new: str) -> list[str]:
        file = shop / f"{name}.py"
        text = file.read_text()
        assert old in text
        file.write_text(text.replace(old, new))
        return asked(ASK, tmp_path, HOUSE.parent)

    assert asked(ASK, tmp_path, HOUSE.parent) == ["6.5", "0"]
    assert edit("numbers", "OTHER = 5.0", "OTHER = 7.0") == ["6.5", "1"]
    assert edit("inner", "MANY * x", "10. * x") == ["30.5", "0"]
    assert edit("inner", "10. * x", "MANY * x") == ["6.5", "0"]
    assert edit("numbers", "MANY = 2.0", "MANY = 4.0") == ["12.5", "0"]
    assert asked(ASK, tmp_path, HOUSE.parent) == ["12.5", "1"]


def test_an_edit_of_the_distance_of_two_solids_is_seen_where_a_servo_is_placed(tmp_path: Path) -> None:
    copytree(HOUSE, tmp_path / "marotte", ignore=ignore_patterns("__pycache__"))
    ask = (
        "import numpy as np; from marotte.mech.fit.kernels_place import all_clear\n"
        "ball = (np.zeros((1, 16, 3)), np.ones(1, np.int64), np.ones(1), *np.zeros((2, 1, 1, 3)), np.zeros((1, 3)), np.ones(1))\n"
        "print(all_clear(0.001, 1, np.zeros(1, np.int64), np.zeros(1, np.bool_), *ball, *ball))"
    )
    kernels = tmp_path / "marotte" / "mech" / "fit" / "kernels.py"
    text = kernels.read_text()
    first = "    far = _apart(p, n, q, m, normal)\n"
    assert first in text
    kernels.write_text(text.replace(first, "    return -0.5\n" + first))
    assert asked(ask, tmp_path) == ["False"]
    kernels.write_text(text.replace(first, "    return 0.5\n" + first))
    assert asked(ask, tmp_path) == ["True"]


def kernels_of_the_house() -> dict[str, Dispatcher]:
    """Return every compiled function of the package, by its full name."""
    found = {}
    for file in sorted(HOUSE.rglob("*.py")):
        if "compiled" in file.read_text() and file.stem != "compiled":
            name = ".".join((HOUSE.name, *file.relative_to(HOUSE).with_suffix("").parts))
            for thing in vars(import_module(name)).values():
                if isinstance(thing, Dispatcher):
                    found[f"{thing.__module__}.{thing.__qualname__}"] = thing
    return found


def test_every_kernel_of_the_house_is_kept_so() -> None:
    found = kernels_of_the_house()
    assert len(found) > 60
    for name, kernel in found.items():
        assert isinstance(kernel._cache._cache_file._source_stamp, Stamp), name
        assert rests_on(kernel)
    bare = [str(file) for file in HOUSE.rglob("*.py") if "njit" in file.read_text() and file.stem != "compiled"]
    assert not bare, "compile by marotte.basis.compiled"


def test_the_window_loop_rests_on_the_tick_the_rails_and_the_vectors_that_intrinsics_read() -> None:
    loop = rests_on(kernels_of_the_house()["marotte.drive.kernels.run_window"])
    for file in ("kernels", "step", "rails", "moves", "lookup", "keep", "skins", "vectors"):
        assert isinstance(loop[f"marotte.drive.{file}"], bytes)
    assert loop["marotte.drive.vectors.LANES"] == ("int", 8)
    assert ("fastmath", {"contract"}) in loop["marotte.drive.rails.rails"]


@njit
def reads_through() -> float:
    return HERE.EDGE  # type: ignore[attr-defined, no-any-return]


def test_what_a_kernel_reads_through_a_module_of_its_own_package_is_refused() -> None:
    with pytest.raises(TypeError, match=r"import the names themselves"):
        rests_on(reads_through)
