"""No check is trusted until it has been seen to fail: each test plants one fault in a copy of the tree and runs the gate.

The gate must name what was planted, so that a gate which fails for another reason does not pass here.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
TOOLS = Path(sys.executable).parent

pytestmark = [pytest.mark.slow, pytest.mark.system]

Gate = Callable[..., tuple[int, str]]


@pytest.fixture
def tree(tmp_path: Path) -> Path:
    """A copy of the checkout that may be spoilt."""
    unwanted = shutil.ignore_patterns(".git", "env", ".venv", "__pycache__", ".*_cache", ".hypothesis", "dist", "build")
    return Path(shutil.copytree(ROOT, tmp_path / "tree", ignore=unwanted))


@pytest.fixture
def gate(tree: Path) -> Gate:
    """Runs a tool of this environment in the copy: (exit status, all it said)."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith("PYTEST_")}

    def run(*words: str, **environment: str) -> tuple[int, str]:
        command, settings = [str(TOOLS / words[0]), *words[1:]], {**kept, "PYTHONPATH": str(tree), "NO_COLOR": "1", **environment}
        ran = subprocess.run(command, cwd=tree, env=settings, capture_output=True, text=True, check=False)
        return ran.returncode, ran.stdout + ran.stderr

    return run


def plant(path: Path, text: str) -> None:
    """Add lines to the end of a file, or make it."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("a", encoding="utf-8") as file:
        file.write(text)


@pytest.mark.parametrize(
    ("file", "line", "contract"),
    [
        pytest.param("scheduler/planning/plan.py", "import sqlite3", "scheduler.planning.plan -> sqlite3", id="store in planning"),
        pytest.param("scheduler/rules/schema.py", "import time", "scheduler.rules.schema -> time", id="clock in rules"),
        pytest.param("scheduler/estimates/planted.py", "import socket", "scheduler.estimates.planted -> socket", id="network in estimates"),
        pytest.param("scheduler/facts/planted.py", "from pathlib import Path", "scheduler.facts.planted -> pathlib", id="disk in facts"),
        pytest.param("scheduler/planning/plan.py", "import scheduler.outputs", "scheduler.planning.plan -> scheduler.outputs", id="upward"),
        pytest.param("scheduler/quantities.py", "import scheduler.documents", "scheduler.quantities -> scheduler.documents", id="sideways"),
        pytest.param("scheduler/estimates/planted.py", "import scheduler.facts", "scheduler.estimates.planted -> scheduler.facts", id="estimates to facts"),
        pytest.param("scheduler/planning/network.py", "import scheduler.planning.serial_sgs", "network -> scheduler.planning.serial_sgs", id="verifier"),
        pytest.param("scheduler/web/page.py", "import scheduler.ledger.store", "scheduler.web.page -> scheduler.ledger.store", id="page past the application"),
        pytest.param("rulesets/planted.py", "import scheduler.quantities", "rulesets.planted -> scheduler.quantities", id="rule files"),
        pytest.param("scheduler/planted.py", "", "planted", id="no layer"),
    ],
)
def test_an_import_that_leaves_its_room_breaks_a_contract(tree: Path, gate: Gate, file: str, line: str, contract: str) -> None:
    """A forbidden import is refused by name, and so is a module that stands in no layer."""
    plant(tree / file, f"\n{line}  # planted\n")
    status, said = gate("lint-imports", "--no-cache")
    assert status == 1
    assert contract in said


@pytest.mark.parametrize("call", ["when.now(UTC)", "when.utcnow()", "date.today()", "time.time()"])
def test_the_clock_is_read_in_one_place_only(tree: Path, gate: Gate, call: str) -> None:
    """Reading the clock anywhere else is a lint error that says where it belongs, under another name too."""
    imports = "import time\nfrom datetime import UTC, date\nfrom datetime import datetime as when\n"
    plant(tree / "scheduler/outputs/planted.py", f"{imports}\nread = (UTC, date, time, {call})\n")
    status, said = gate("ruff", "check", "--output-format=concise", "scheduler/outputs/planted.py")
    assert status == 1
    assert "the clock is read in scheduler.application.clock only" in said


def test_an_expected_refusal_without_its_words_is_found(tree: Path, gate: Gate) -> None:
    """Any other fault of the same kind would pass for the one that is meant."""
    plant(tree / "tests/test_planted.py", "import pytest\n\n\ndef test_planted() -> None:\n    with pytest.raises(KeyError):\n        {}[1]\n")
    status, said = gate("ruff", "check", "--output-format=concise", "tests/test_planted.py")
    assert status == 1
    assert "PT011" in said


@pytest.mark.parametrize(
    ("words", "text", "found"),
    [
        (("check", "--output-format=concise"), "\n\ndef planted(word: str) -> str:\n    return word\n", "D103"),
        (
            ("check", "--output-format=concise"),
            '\n\ndef planted(n: int) -> int:\n    """Count."""\n' + "    if n:\n        n += 1\n" * 15 + "    return n\n",
            "C901",
        ),
        (("format", "--check"), "\n\nPLANTED = {  'a':1 }\n", "would be reformatted"),
    ],
    ids=["no docstring", "too many branches", "not formatted"],
)
def test_a_public_name_without_words_a_tangle_and_an_odd_layout_are_found(tree: Path, gate: Gate, words: tuple[str, ...], text: str, found: str) -> None:
    """What a reader meets first is kept by the linter and its formatter."""
    plant(tree / "scheduler/diagnostics.py", text)
    status, said = gate("ruff", *words, "scheduler/diagnostics.py")
    assert status == 1
    assert found in said


def test_an_untyped_function_fails_the_type_check(tree: Path, gate: Gate) -> None:
    """Types are complete, not just right where they are given."""
    plant(tree / "scheduler/diagnostics.py", "\n\ndef planted(word):\n    return word\n")
    status, said = gate("mypy", "scheduler/diagnostics.py")
    assert status == 1
    assert "scheduler/diagnostics.py" in said
    assert "no-untyped-def" in said


def test_a_misspelt_word_is_found(tree: Path, gate: Gate) -> None:
    """Spelling is checked in documents and code alike."""
    plant(tree / "scheduler/diagnostics.py", "# the wrong adr" + "ess\n")
    status, said = gate("codespell", "scheduler/diagnostics.py")
    assert status != 0
    assert "==> address" in said


@pytest.mark.parametrize(
    ("fault", "found"),
    [
        ("@pytest.mark.skip\ndef test_planted():\n    pass", "test_planted"),
        ("@pytest.mark.xfail\ndef test_planted():\n    assert False", "test_planted"),
        ("pytest.importorskip('no_such_module')", "test_planted.py"),
    ],
    ids=["skipped", "expected to fail", "whole file skipped"],
)
def test_a_test_that_does_not_run_fails_the_run(tree: Path, gate: Gate, fault: str, found: str) -> None:
    """`.ci/run` loads a plugin under which a skipped test counts as a failure, and is named."""
    (tree / "test_planted.py").write_text(f"import pytest\n\n\ndef test_sound():\n    pass\n\n\n{fault}\n", encoding="utf-8")
    without, _ = gate("pytest", "-p", "no:cacheprovider", "test_planted.py")
    status, said = gate("pytest", "-p", "no:cacheprovider", "-p", "none_skipped", "test_planted.py", PYTHONPATH=str(tree / ".ci"))
    assert status == 1
    assert found in said.partition("which this run does not allow")[2]
    assert without in (0, 5)


def test_a_warning_fails_the_test_that_raised_it(tree: Path, gate: Gate) -> None:
    """A library that warns of its own end is noticed the day it does."""
    (tree / "test_planted.py").write_text("import warnings\n\n\ndef test_planted():\n    warnings.warn('planted', DeprecationWarning)\n", encoding="utf-8")
    status, said = gate("pytest", "-p", "no:cacheprovider", "test_planted.py")
    assert status == 1
    assert "DeprecationWarning: planted" in said


def test_one_stage_of_the_run_runs_alone_and_an_unknown_one_not_at_all(tree: Path) -> None:
    """By its short name, in the environment that is there; what is no stage is answered with those that are."""
    (tree / ".ci/env/checks").mkdir(parents=True)
    (tree / ".ci/env/checks/bin").symlink_to(TOOLS)
    (tree / ".ci/env/made").touch()

    def run(*words: str) -> tuple[int, str]:
        ran = subprocess.run(["bash", ".ci/run", *words], cwd=tree, capture_output=True, text=True, check=False)
        return ran.returncode, ran.stdout + ran.stderr

    status, said = run("--list")
    names = [line.partition(":")[0] for line in said.splitlines()]
    assert (status, {"plan", "lint", "tests", "system"} <= set(names)) == (0, True)
    assert run("wobble") == (2, f'no stage is named "wobble"; one of: {" ".join(names)}\n')
    plant(tree / "scheduler/diagnostics.py", "# the wrong adr" + "ess\n")
    status, said = run("spelling")
    assert status != 0
    assert [line for line in said.splitlines() if line.startswith("=== ")] == ["=== spelling"]
    assert 'FAILED in "spelling"' in said
    assert run("imports")[0] == 0


def test_the_tests_pass_in_a_folder_that_may_not_be_written(tree: Path, gate: Gate) -> None:
    """Neither the cache of pytest nor the examples of a property need a place beside the tests."""
    for kept in (".pytest_cache", ".hypothesis"):
        (tree / kept).touch()  # a file where the folder would be: the administrator cannot write it either
    (tree / "tests/test_planted.py").write_text(
        "from hypothesis import given, strategies\n\n\n@given(strategies.text())\ndef test_sound(text):\n    assert text + 'x'\n", encoding="utf-8"
    )
    status, said = gate("pytest", "tests/test_planted.py", "tests/test_quantities.py")
    assert status == 0, said


@pytest.mark.parametrize("blocks", [0, 2])
def test_a_command_that_the_readme_does_not_print_once_stops_the_run(tree: Path, gate: Gate, blocks: int) -> None:
    """The commands are read from README.md; a mark that is missing or doubled is refused, not passed over."""
    (tree / "README.md").write_text("<!-- run: plan -->\n```console\ntrue\n```\n\n" * blocks, encoding="utf-8")
    status, said = gate("python", ".ci/printed.py", "plan")
    assert status == 1
    assert f"{blocks} blocks" in said


@pytest.mark.parametrize(
    ("fault", "found"),
    [
        pytest.param("parameters:\n  floor: {value: 12 h, basis: published, checked: 2026-11-25}", "needs its source", id="published, no source"),
        pytest.param("sources:\n  W1: {by: a body, title: a paper}", '"where" is missing', id="source without its place"),
        pytest.param("parameters:\n  floor: {value: 12 h, checked: 2026-11-25}", '"basis" is missing', id="number without basis"),
        pytest.param("scenarios:\n  - {name: planted, expect: {moisture reading: {}}}", "cannot fail", id="empty expectation"),
        pytest.param("scenarios:\n  - {name: planted, expect: {no such card: {exists: true}}}", "no such card", id="unknown card"),
    ],
)
def test_a_rule_file_that_proves_nothing_is_refused(tree: Path, gate: Gate, fault: str, found: str) -> None:
    """A number without its source, and an expectation that nothing could fail, are refused with their place."""
    plant(tree / "rulesets/planted.yaml", f"ruleset: planted\nversion: 1\n{fault}\n")
    status, said = gate("python", "-m", "scheduler", "rules", "check")
    assert status == 2
    assert found in said
    assert "planted.yaml:" in said


def test_a_scenario_that_does_not_hold_fails_the_run(tree: Path, gate: Gate) -> None:
    """Scenarios are tests: one that expects a card to be absent which is there is told by name, beside those of one file that hold."""
    for file in (tree / "rulesets").glob("*.yaml"):
        if file.name != "records.yaml":
            file.write_text(file.read_text(encoding="utf-8").partition("\nscenarios:\n")[0] + "\n", encoding="utf-8")
    plant(tree / "rulesets/planted.yaml", "ruleset: planted\nversion: 1\nscenarios:\n  - {name: planted, expect: {pack: {exists: false}}}\n")
    status, said = gate("python", "-m", "scheduler", "rules", "test")
    assert status == 2
    assert "planted.yaml:4" in said
    assert "4 passed, 1 failed" in said


def test_one_wrong_byte_in_a_golden_calendar_is_noticed(tree: Path, gate: Gate) -> None:
    """Goldens are compared byte for byte."""
    golden = tree / "tests/outputs/golden/ridge.ics"
    golden.write_bytes(golden.read_bytes().replace(b"BEGIN:VALARM", b"BEGIN:VALARm", 1))
    status, said = gate("python", "-m", "pytest", "-p", "no:cacheprovider", "-k", "bytes_of_a_calendar", "tests/outputs")
    assert status == 1
    assert "ridge.ics" in said
