"""Whatever was edited, undone and saved on the way: the verdict is that of a fresh process on the saved folder, to the bit."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from marotte.basis.contracts.finding import ABSENT, Edit
from marotte.basis.digest import digest
from marotte.basis.faults import BadInput, BadRequest, CannotSave
from marotte.creature.edit import value_at
from marotte.creature.load import load
from marotte.desk.session import Session
from marotte.verdict.check import check
from tests.creature.conftest import SMALL

SCRIPT = """INT. POST OFFICE - DAY

TANSY
Two pounds sixty to pay, and mind the plums.

She looks at the letter.

TANSY
(warily)
Not for you.
"""
BRIEF = """
brief:
  script: script.fountain
  cue: TANSY
  speech: hits
  pace: {syllables: 4.6 /s}
  moods: {warily: wary}
limits: {head_mass: 2.2 kg}
seed: 7
"""

CHOICES: dict[str, list[Any]] = {
    "/functions/jaw/mech/horn": ["14 mm", "11 mm", "10 mm", "0 mm"],
    "/functions/jaw/mech/arm_at_neutral": ["90 deg", "70 deg"],
    "/functions/jaw/load/mass": ["160 g", "220 g", {"value": "160 g", "source": "measured"}],
    "/functions/jaw/neutral": ["3 deg", "0 deg"],
    "/functions/lid_upper/means/model": ["mini_fast", "micro_fast", "no_such_servo"],
    "/skins/cheek/strip/thickness": ["4 mm", "2 mm"],
    "/skins/cheek/sculpted_at/jaw": ["0 deg", "8 deg"],
    "/servos/jaw_servo/like": ["standard", "standard_strong"],
    "/supply/leads/face/awg": [22, 26],
    "/limits/head_mass": ["2.2 kg", "1 kg", ABSENT],
    "/brief/pace/syllables": ["4.6 /s", "3.5 /s"],
    "/brief/speech": ["hits", "flap"],
    "/seed": [7, 8],
    "/masses/paint_and_glue": ["60 g", "300 g"],
    "/x_remark": ["hello", ABSENT],
}


def small_head(home: Path) -> Path:
    """Write a jaw with its skin, a pair of lids and a short script, so that a check takes a moment only."""
    folder = home / "head"
    folder.mkdir()
    (folder / "creature.yaml").write_text(SMALL + BRIEF)
    (folder / "script.fountain").write_text(SCRIPT)
    return folder


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return small_head(tmp_path)


def edit(session: Session, path: str, to: Any) -> Edit:
    return Edit(path=path, from_=value_at(session.tree, path), to=to)


class AnyEdits(RuleBasedStateMachine):
    """Edits, undos, redos, saves and rereads in any order."""

    def __init__(self) -> None:
        super().__init__()
        self.home = tempfile.TemporaryDirectory()
        self.folder = small_head(Path(self.home.name))
        self.session = Session(self.folder)

    def teardown(self) -> None:
        self.home.cleanup()

    @rule(path=st.sampled_from(sorted(CHOICES)), pick=st.integers(0, 10))
    def edits(self, path: str, pick: int) -> None:
        to = CHOICES[path][pick % len(CHOICES[path])]
        before = self.session.tree.data
        try:
            self.session.edit([edit(self.session, path, to)])
        except BadInput as error:
            assert error.faults
            assert self.session.tree.data == before

    @precondition(lambda self: self.session._undo)
    @rule()
    def takes_back(self) -> None:
        self.session.undo()

    @precondition(lambda self: self.session._redo)
    @rule()
    def does_again(self) -> None:
        self.session.redo()

    @rule()
    def saves_and_rereads(self) -> None:
        self.session.save()
        self.session.reread()

    @invariant()
    def the_verdict_is_that_of_the_saved_folder_read_afresh(self) -> None:
        self.session.save()
        assert not self.session.unsaved
        fresh = check(load(self.folder))
        assert digest(self.session.verdict) == digest(fresh)


TestAnyEdits = AnyEdits.TestCase
TestAnyEdits.settings = settings(
    max_examples=10, stateful_step_count=8, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True
)

FRESH = """
import sys; from pathlib import Path
from marotte.creature.load import load; from marotte.verdict.check import check; from marotte.basis.digest import digest
print(digest(check(load(Path(sys.argv[1])))).hex())
"""


@pytest.mark.slow
def test_a_fresh_process_gives_the_same_bytes_on_one_thread_and_on_two(folder: Path) -> None:
    session = Session(folder)
    session.edit(
        [edit(session, "/functions/jaw/mech/horn", "11 mm"), edit(session, "/skins/cheek/strip/thickness", "2 mm")]
    )
    session.undo()
    session.edit([edit(session, "/functions/jaw/mech/horn", "12 mm")])
    session.save()
    expected = digest(session.verdict).hex()
    for threads, seed in (("1", "1"), ("2", "2")):
        environment = {**os.environ, "NUMBA_NUM_THREADS": threads, "MAROTTE_THREADS": threads, "PYTHONHASHSEED": seed}
        done = subprocess.run(
            [sys.executable, "-c", FRESH, str(folder)], env=environment, capture_output=True, text=True, check=True
        )
        assert done.stdout.strip() == expected


def test_undo_and_redo_go_back_and_forth_over_the_same_verdicts(folder: Path) -> None:
    session = Session(folder)
    seen = [digest(session.verdict)]
    for horn in ("11 mm", "10 mm"):
        session.edit([edit(session, "/functions/jaw/mech/horn", horn)])
        seen.append(digest(session.verdict))
    assert len(set(seen)) == 3
    assert [digest(session.undo()) for _ in range(2)] == [seen[1], seen[0]]
    assert [digest(session.redo()) for _ in range(2)] == [seen[1], seen[2]]
    with pytest.raises(BadRequest, match="nothing to redo"):
        session.redo()
    session.undo()
    session.edit([edit(session, "/seed", 8)])  # a new step: what was taken back is gone
    with pytest.raises(BadRequest, match="nothing to redo"):
        session.redo()


def test_an_edit_that_cannot_be_read_changes_nothing(folder: Path) -> None:
    session = Session(folder)
    before = digest(session.verdict)
    with pytest.raises(BadInput, match="furlong"):
        session.edit([edit(session, "/functions/jaw/mech/horn", "14 furlong")])
    assert digest(session.verdict) == before
    with pytest.raises(BadRequest, match="nothing to undo"):
        session.undo()


def test_a_file_changed_by_someone_else_is_not_overwritten(folder: Path) -> None:
    session = Session(folder)
    session.edit([edit(session, "/seed", 8)])
    path = folder / "creature.yaml"
    theirs = path.read_text() + "# a remark by hand\n"
    path.write_text(theirs)
    with pytest.raises(CannotSave, match="changed on disk"):
        session.save()
    assert path.read_text() == theirs
    assert session.unsaved
    session.reread()
    assert not session.unsaved


def test_a_reread_of_a_spoilt_file_leaves_the_session_as_it_was(folder: Path) -> None:
    session = Session(folder)
    verdict = digest(session.verdict)
    (folder / "creature.yaml").write_text("marotte: 1\n\tname: x\n")
    with pytest.raises(BadInput):
        session.reread()
    assert digest(session.verdict) == verdict
