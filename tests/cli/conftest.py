"""The command, run in this process."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import pytest

from marotte.cli.main import main


@dataclass(frozen=True)
class Ran:
    """What one command left behind."""

    code: int
    out: str
    err: str


@pytest.fixture
def marotte(capsys: pytest.CaptureFixture[str]) -> Callable[..., Ran]:
    def run(*arguments: str) -> Ran:
        capsys.readouterr()
        code = main([str(argument) for argument in arguments])
        said = capsys.readouterr()
        return Ran(code, said.out, said.err)

    return run
