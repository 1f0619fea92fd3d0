"""Input that no keeper meant: too many keys, too much of it, from a year that cannot be. Refused in words, and soon."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
RIDGE = EXAMPLES / "kestrel_bank/ridge-2.yaml"
HARVEST = RIDGE.read_text(encoding="utf-8")
YARD = EXAMPLES / "kestrel_bank/yard.yaml"
LONG = 120  # s, in which no command here may hang; a search through all keys for each key took four minutes for a hundred thousand


@pytest.fixture(scope="module")
def ledger(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A ledger with a yard in it."""
    place = tmp_path_factory.mktemp("ledger") / "ledger.sqlite"
    subprocess.run([sys.executable, "-m", "scheduler", "init", "--from", YARD], env={**os.environ, "AFTERPULL_LEDGER": str(place)}, check=True)
    return place


def refused(*words: str | Path, ledger: Path | None = None) -> list[str]:
    """The lines in which a command refuses its input, without a traceback."""
    environment = {**os.environ, **({"AFTERPULL_LEDGER": str(ledger)} if ledger else {})}
    result = subprocess.run(
        [sys.executable, "-m", "scheduler", *map(str, words)], env=environment, capture_output=True, text=True, encoding="utf-8", timeout=LONG, check=False
    )
    assert result.returncode == 2, result.stderr[-2000:]
    assert "Traceback" not in result.stderr
    return result.stderr.splitlines()


@pytest.mark.parametrize("count", [1_000, pytest.param(100_000, marks=pytest.mark.slow)])
def test_each_of_many_unknown_keys_is_named_with_its_line(tmp_path: Path, count: int) -> None:
    """However many there are: no key makes the others slower."""
    harvest = tmp_path / "harvest.yaml"
    harvest.write_text(HARVEST + "".join(f"k{number}: 1\n" for number in range(count)), encoding="utf-8")
    first = len(HARVEST.splitlines()) + 1
    lines = refused("plan", harvest, "--yard", YARD)
    assert lines[::2] == [f'{harvest}:{first + number}:1: the file: unknown key "k{number}"' for number in range(count)]


def larger_than_any(path: Path) -> Path:
    """A file of two gigabytes that takes no room on the disk."""
    with path.open("wb") as file:
        file.truncate(2_000_000_000)
    return path


def pipe(path: Path) -> Path:
    """A pipe that nobody writes to: whoever opens it waits for ever."""
    os.mkfifo(path)
    return path


def endless(path: Path) -> Path:
    """A device that never ends."""
    path.symlink_to("/dev/zero")
    return path


@pytest.mark.skipif(sys.platform == "win32", reason="a pipe with a name and endless devices are POSIX")
@pytest.mark.parametrize(
    ("words", "make"),
    [
        ("plan FILE", larger_than_any),
        ("plan FILE", pipe),
        ("plan FILE", endless),
        ("plan RIDGE --yard FILE", larger_than_any),
        ("plan RIDGE --rules FILE", larger_than_any),
        ("plan RIDGE --rules FILE", pipe),
        ("plan RIDGE --rules FILE", endless),
        ("log FILE", larger_than_any),
        ("init --from FILE", larger_than_any),
        ("observe series freezer --file FILE", larger_than_any),
        ("ledger import FILE", larger_than_any),
        ("calendar check FILE", larger_than_any),
        ("rules check FILE", larger_than_any),
        ("rules test FILE", larger_than_any),
        ("watch --once --channels FILE", larger_than_any),
        ("estimate dearth FILE", larger_than_any),
        ("estimate degree-days FILE --base 50F", larger_than_any),
        ("estimate inspect --series FILE", larger_than_any),
    ],
)
def test_a_file_is_measured_before_it_is_read(tmp_path: Path, ledger: Path, words: str, make: Callable[[Path], Path]) -> None:
    """Whatever a command reads: one that is too large, waits for ever or never ends is refused by its name, and the machine's memory is left alone."""
    file = make(tmp_path / "file.yaml")
    [first, cure] = refused(*words.replace("FILE", str(file)).replace("RIDGE", str(RIDGE)).split(), ledger=ledger)
    assert first.startswith(f"{file}: ")
    assert ("the largest that is read" if make is larger_than_any else "a pipe or a device") in first
    assert cure.startswith("    write ")


@pytest.mark.skipif(sys.platform == "win32", reason="a pipe with a name and endless devices are POSIX")
@pytest.mark.parametrize("make", [pipe, endless])
def test_a_ledger_is_a_file(tmp_path: Path, make: Callable[[Path], Path]) -> None:
    """A pipe or a device in its place is neither waited for nor written to."""
    [first, _] = refused("agenda", ledger=make(tmp_path / "ledger.sqlite"))
    assert "a ledger is a file" in first
