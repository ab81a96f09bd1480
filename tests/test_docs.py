"""The documents are true: their commands run, their finding codes exist, their links lead somewhere."""

from __future__ import annotations

import re
import shlex
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

from marotte.cli.commands import COMMANDS
from marotte.cli.main import main, parser
from marotte.verdict.requirements import REGISTRY

ROOT = Path(__file__).resolve().parents[1]
PAGES = sorted([*ROOT.glob("*.md"), *ROOT.glob("docs/**/*.md")])
HANDBOOK = sorted(ROOT.glob("docs/handbook/*.md"))


def fenced(page: Path) -> Iterator[str]:
    """Yield the lines of the fenced blocks of a page that are not of another language."""
    for language, block in re.findall(
        r"^ *```(\w*)\n(.*?)^ *```", page.read_text(encoding="utf-8"), re.MULTILINE | re.DOTALL
    ):
        if language in ("", "sh", "bash"):
            yield from block.splitlines()


def commands(page: Path) -> list[list[str]]:
    found = []
    for line in fenced(page):
        words = shlex.split(line, comments=True)
        if words and words[0].rsplit("/", 1)[-1] == "marotte":
            found.append(words[1:])
    return found


@pytest.mark.parametrize("page", PAGES, ids=lambda p: str(p.relative_to(ROOT)))
def test_links_lead_to_files_that_are_there(page: Path) -> None:
    for target in re.findall(r"\]\(([^)#]+)(?:#[^)]*)?\)", page.read_text(encoding="utf-8")):
        if not re.match(r"[a-z]+:", target):
            assert (page.parent / target).exists(), f"{page.name}: {target}"


@pytest.mark.parametrize("page", PAGES, ids=lambda p: str(p.relative_to(ROOT)))
def test_commands_of_a_page_are_commands_of_the_program(page: Path) -> None:
    for words in commands(page):
        if words and not words[0].startswith("-") and "FOLDER" not in words:
            parser().parse_args(words)  # ends the process, and with it the test, where it does not understand


@pytest.mark.parametrize("page", PAGES, ids=lambda p: str(p.relative_to(ROOT)))
def test_make_targets_of_a_page_are_in_the_makefile(page: Path) -> None:
    targets = set(re.findall(r"^([a-z]+):", (ROOT / "Makefile").read_text(encoding="utf-8"), re.MULTILINE))
    for target in re.findall(r"(?:^|`)make ([a-z]+)", page.read_text(encoding="utf-8"), re.MULTILINE):
        assert target in targets


@pytest.mark.parametrize("page", HANDBOOK, ids=lambda p: p.name)
def test_findings_that_the_handbook_names_are_in_the_registry(page: Path) -> None:
    names = {requirement.name for requirement in REGISTRY}
    for code in re.findall(r"`([a-z_]+\.[a-z_]+)`", page.read_text(encoding="utf-8")):
        left, right = code.split(".")
        if code.endswith((".yaml", ".md", ".fountain", ".json")):
            continue
        assert right in names or code in names or left in names, f"{page.name}: {code}"


def test_the_first_page_runs_from_its_first_command_to_its_last(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    asked = commands(ROOT / "docs" / "handbook" / "first.md")
    assert [words[0] for words in asked] == ["new", "check", "why"]
    for words in asked:
        code = main(words)
        said = capsys.readouterr()
        assert code in (0, 1), said.err
        assert said.out
    assert (tmp_path / "grey_hen" / "creature.yaml").exists()


def test_every_command_is_in_the_handbook_and_every_page_is_in_the_index() -> None:
    text = (ROOT / "docs" / "handbook" / "commands.md").read_text(encoding="utf-8")
    assert all(f"`marotte {name}" in text for name in COMMANDS)
    index = (ROOT / "docs" / "README.md").read_text(encoding="utf-8")
    for page in (*HANDBOOK, *ROOT.glob("docs/reference/*")):
        assert str(page.relative_to(ROOT / "docs")) in index, page.name


def test_every_library_has_its_line_in_the_decision() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    page = (ROOT / "docs" / "decisions" / "0002-libraries.md").read_text(encoding="utf-8")
    wanted = [
        *project["dependencies"],
        *(item for group in project["optional-dependencies"].values() for item in group),
    ]
    for item in wanted:
        name = re.split(r"[<>=!~\[ ]", item)[0]
        if not name.startswith("marotte"):
            assert re.search(rf"\b{re.escape(name)}\b", page), f"{name} is not in docs/decisions/0002-libraries.md"


def test_the_lock_names_no_index_and_the_build_machine_runs_the_tests_and_nothing_else() -> None:
    lock = (ROOT / "requirements" / "dev.txt").read_text(encoding="utf-8")
    assert "://" not in lock
    assert "--hash=sha256:" in lock
    lines = [
        line for line in (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines() if line and line[0] != "#"
    ]
    assert lines == ["set -eu", 'cd "$(dirname "$0")/.."', "make test"]
    assert (ROOT / ".ci" / "run").stat().st_mode & 0o111


def test_every_page_is_listed_where_people_begin() -> None:
    begin, methods = ROOT / "docs" / "README.md", ROOT / "docs" / "methods" / "README.md"
    linked = {
        (page.parent / target).resolve()
        for page in (begin, methods)
        for target in re.findall(r"\]\(([^)#]+)\)", page.read_text(encoding="utf-8"))
    }
    wanted = {page.resolve() for page in (ROOT / "docs").rglob("*") if page.suffix in (".md", ".json")} - {begin}
    assert sorted(str(page.relative_to(ROOT)) for page in wanted - linked) == []
