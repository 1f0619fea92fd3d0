"""What the two documents for people say about the tree is true."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
README = (ROOT / "README.md").read_text(encoding="utf-8")


def paths(text: str) -> list[str]:
    """The words in backticks that read as a path inside the tree; .ci/env/ is made by the run itself."""
    words = [word for span in re.findall(r"`([^`\n]+)`", text) for word in span.split()]
    roots = "|".join(("scheduler", "rulesets", "tests", "examples", r"\.ci"))
    shaped = re.compile(rf"^(?:{roots})/[\w./-]*$|^[A-Za-z.-]+\.(?:md|toml|yaml)$")
    return sorted({word for word in words if shaped.match(word) and not word.startswith(".ci/env")})


@pytest.mark.parametrize("path", paths(DEVELOPERS))
def test_every_path_that_the_developers_guide_names_exists(path: str) -> None:
    """A guide that names a file which moved sends its reader nowhere."""
    assert (ROOT / path).exists()


def test_the_guide_names_enough_paths_to_be_worth_checking() -> None:
    """The pattern above still finds the paths: files of the top level, rooms and single modules."""
    assert {"README.md", "pyproject.toml", "scheduler/planning/", "scheduler/quantities.py", ".ci/constraints.txt"} <= set(paths(DEVELOPERS))


def test_every_room_has_its_line_in_the_layout() -> None:
    """A new room under scheduler/ is explained on the day it is built."""
    rooms = {f"scheduler/{room.name}/" for room in (ROOT / "scheduler").iterdir() if (room / "__init__.py").exists()}
    rooms |= {f"scheduler/{module.name}" for module in (ROOT / "scheduler").glob("[a-z]*.py")}
    assert rooms - set(re.findall(r"^\| `([^`]+)`", DEVELOPERS, re.MULTILINE)) == set()


def test_the_guide_lists_the_stages_of_the_run_and_no_others() -> None:
    """The table of stages is the list of stages, in their order."""
    stages = re.findall(r'^  "(\w+): ', (ROOT / ".ci/run").read_text(encoding="utf-8"), re.MULTILINE)
    table = DEVELOPERS.partition("| stage | holds |")[2].partition("\n\n")[0]
    listed = ", ".join(re.findall(r"^\| ([^|]+?) \|", table.replace("|---|---|", ""), re.MULTILINE))
    assert listed == ", ".join(stages)


@pytest.mark.parametrize("name", ["plan", "tests"])
def test_each_command_of_the_readme_has_its_like_for_windows(name: str) -> None:
    """The same words in the other shell: its own launcher, its folder of programs, its separator."""
    (block,) = re.findall(rf"<!-- run: {name} -->\s*\n```console\n(.*)\n```", README)
    like = block.replace("python3 -m venv", "py -m venv").replace(".venv/bin/", ".venv/Scripts/").replace("/", "\\")
    assert like in README.partition(block)[2].partition("<!-- ")[0]


def test_the_readme_says_what_to_install_where_venv_is_missing() -> None:
    """The line after the first command, where somebody looks when it fails."""
    following = README.partition("<!-- run: plan -->")[2].split("```")[2]
    assert following.strip().splitlines()[0].startswith("Where it says that venv or ensurepip is missing")
    assert "`apt install python3-venv`" in following


@pytest.mark.parametrize("name", ["plan", "tests"])
def test_the_readme_marks_each_command_that_the_run_takes_from_it_once(name: str) -> None:
    """Both commands are read from the README, so each has one marked block."""
    assert len(re.findall(rf"<!-- run: {name} -->\s*\n```console\n", README)) == 1


def test_the_words_are_in_the_order_of_the_alphabet() -> None:
    """A word is found by looking where it should be, and stands once."""
    words = [word.lower() for word in re.findall(r"^\| ([^|`]+?) \|", DEVELOPERS.partition("## Words")[2], re.MULTILINE)][1:]
    assert len(words) >= 30
    assert words == sorted(set(words))
