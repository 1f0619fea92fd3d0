"""A newcomer's machine: no right to write, a closed pipe, a full disk, a poor terminal. Every command ends in words or quietly."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
RIDGE = ROOT / "examples/kestrel_bank/ridge-2.yaml"
POSIX = pytest.mark.skipif(sys.platform == "win32", reason="the folders and devices of POSIX")


@pytest.fixture
def locked(tmp_path: Path) -> Iterator[Path]:
    """A folder in which nobody may write, the administrator neither."""
    if os.geteuid() == 0:
        yield Path("/proc")
        return
    folder = tmp_path / "locked"
    folder.mkdir(mode=0o555)
    yield folder
    folder.chmod(0o755)


def types(*words: str | Path, status: int = 0, cwd: Path = ROOT, **environment: str | None) -> subprocess.CompletedProcess[bytes]:
    """Type a command in a process of its own. No traceback reaches a person; None takes a variable away."""
    known = {**os.environ, "PYTHONPATH": str(ROOT), **environment}
    settings = {name: value for name, value in known.items() if value is not None}
    result = subprocess.run([sys.executable, "-m", "scheduler", *map(str, words)], cwd=cwd, env=settings, capture_output=True, check=False)
    assert result.returncode == status, result.stderr.decode()
    assert b"Traceback" not in result.stderr
    assert b"a fault of the program" not in result.stderr
    return result


YARD = ("--yard", "Kestrel Bank", "--latitude", "46.31", "--longitude", "14.18", "--timezone", "Europe/Ljubljana", "--units", "metric")
LOT = ("--hive", "north", "--lot", "extracted 14 medium 17.9%")


@POSIX
def test_a_yard_whose_file_can_not_be_written_is_not_set(tmp_path: Path, locked: Path) -> None:
    """The file comes before the fact: typed again where it can be written, it is set as if nothing had been."""
    ledger = tmp_path / "ledger.sqlite"
    said = types("init", *YARD, "--ledger", ledger, cwd=locked, status=2).stderr.decode()
    assert said.startswith("yard.yaml: can not be written: ")
    assert not ledger.exists()
    types("init", *YARD, "--ledger", ledger, cwd=tmp_path)


@POSIX
def test_a_harvest_whose_file_can_not_be_written_is_not_logged(tmp_path: Path, locked: Path) -> None:
    """The ledger holds what it held, to the line."""
    ledger = tmp_path / "ledger.sqlite"
    types("init", *YARD, "--ledger", ledger, cwd=tmp_path)
    types("ledger", "export", tmp_path / "before.jsonl", "--ledger", ledger)
    said = types("log", "--harvest", "ridge-3", *LOT, "--ledger", ledger, cwd=locked, status=2).stderr.decode()
    assert said.startswith("ridge-3.yaml: can not be written: ")
    types("ledger", "export", tmp_path / "after.jsonl", "--ledger", ledger)
    assert (tmp_path / "after.jsonl").read_bytes() == (tmp_path / "before.jsonl").read_bytes()


def test_no_file_is_left_of_what_was_refused(tmp_path: Path) -> None:
    """What is wrong in the words is told, and the same command with other words does not find a file in its way."""
    ledger = tmp_path / "ledger.sqlite"
    types("init", *YARD, "--latitude", "99", "--ledger", ledger, cwd=tmp_path, status=2)
    assert not (tmp_path / "yard.yaml").exists()
    types("init", *YARD, "--ledger", ledger, cwd=tmp_path)
    types("log", "--harvest", "ridge-3", *LOT, "--pulled", "2148-08-11T10:30", "--ledger", ledger, cwd=tmp_path, status=2)
    assert not (tmp_path / "ridge-3.yaml").exists()
    types("log", "--harvest", "ridge-3", *LOT, "--ledger", ledger, cwd=tmp_path)
    assert (tmp_path / "ridge-3.yaml").exists()
