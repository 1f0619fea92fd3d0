"""Input that no keeper meant: too many keys, too much of it, from a year that cannot be. Refused in words, and soon."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner

from scheduler.cli import main

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


def refused_here(*words: str | Path, ledger: Path) -> list[str]:
    """The same within this process, which saves its start."""
    result = CliRunner().invoke(main, list(map(str, words)), env={"AFTERPULL_LEDGER": str(ledger)})
    assert result.exit_code == 2, result.output
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


@pytest.mark.parametrize("year", ["0001", "1899", "2201", "9999"])
@pytest.mark.parametrize(
    "words",
    [
        "plan RIDGE --as-of YEAR-08-11T10:30",
        "done close-up --at YEAR-08-11T19:40",
        "skip close-up --until YEAR-08-11T19:40",
        "observe moisture 17.8 % --of ridge-2/a --at YEAR-08-11T19:40",
        "observe first frost --on YEAR-10-09",
        "log --harvest ridge-3 --hive north --lot 'extracted 14 medium' --pulled YEAR-08-11T10:30",
        "rules list --stale 3y --as-of YEAR-11-25",
        "estimate dusk --latitude 46.31 --longitude 14.18 --timezone Europe/Ljubljana --date YEAR-08-11",
    ],
)
def test_no_moment_is_taken_from_outside_the_years_of_a_keeper(ledger: Path, words: str, year: str) -> None:
    """A year with a slip of the finger is refused by itself, before anything is planned with it."""
    [first, cure] = refused_here(*shlex.split(words.replace("YEAR", year).replace("RIDGE", str(RIDGE))), ledger=ledger)
    assert re.search(rf'"{year}-\d\d-\d\d.*" lies outside the years 1950 to 2149$', first)
    assert cure == "    write the year that is meant"


@pytest.mark.parametrize(
    ("file", "command", "content"),
    [
        ("harvest.yaml", "log FILE", "harvest: x\npulled: YEAR-08-11T10:30\nlots: [{id: a, kind: extracted, frames: 9, frame: medium}]\n"),
        ("yard.yaml", "init --from FILE", YARD.read_text(encoding="utf-8").replace("2026-08-15", "YEAR-08-15")),
        ("yard.yaml", "init --from FILE", YARD.read_text(encoding="utf-8").replace("from: 2026-11-01", "from: YEAR-11-01")),
        ("yard.yaml", "init --from FILE", YARD.read_text(encoding="utf-8").replace("season:", "season:\n  observed: {first frost: YEAR-10-09}")),
        ("rules.yaml", "rules check FILE", "ruleset: mine\nversion: 1\nparameters:\n  floor: {value: 12 h, basis: assumed, checked: YEAR-11-25}\n"),
        ("log.csv", "observe series freezer --file FILE", "time,temperature C\nYEAR-08-11T10:30,-18\nYEAR-08-11T10:45,-18\n"),
        ("weather.csv", "observe series weather --file FILE", "date,tmin C,tmax C\nYEAR-08-11,12,25\nYEAR-08-12,12,25\n"),
        ("weather.csv", "estimate degree-days FILE --base 50F", "date,tmin C,tmax C\nYEAR-08-11,12,25\nYEAR-08-12,12,25\n"),
        ("scale.csv", "estimate dearth FILE", "date,mass kg\nYEAR-08-11,40\nYEAR-08-12,41\n"),
    ],
)
@pytest.mark.parametrize("year", ["1899", "2201"])
def test_no_file_brings_a_moment_from_outside_those_years(tmp_path: Path, ledger: Path, file: str, command: str, content: str, year: str) -> None:
    """A harvest, free hours, a reservation, what was seen, when a number was checked, and the tables of instruments alike."""
    path = tmp_path / file
    path.write_text(content.replace("YEAR", year), encoding="utf-8")
    lines = refused_here(*command.replace("FILE", str(path)).split(), ledger=ledger)
    assert any((f'"{year}-' in line and "lies outside the years" in line) or "is still to come" in line for line in lines)


@pytest.mark.parametrize(
    "line",
    [
        '{"fact":{"kind":"task-done","v":1,"occurred_at":7300000000,"task":"a/b/c"},"id":"ID","recorded_at":1780000000}',
        '{"fact":{"kind":"task-done","v":1,"occurred_at":1780000000,"task":"a/b/c"},"id":"ID","recorded_at":-2300000000}',
        '{"fact":{"kind":"observed","v":1,"mark":"first frost","occurred_at":1780000000,"on":"1899-10-09"},"id":"ID","recorded_at":1780000000}',
    ],
)
def test_no_export_brings_a_fact_from_outside_those_years(tmp_path: Path, ledger: Path, line: str) -> None:
    """When it happened, when it was written down, and the day on which it was seen."""
    export = tmp_path / "facts.jsonl"
    export.write_text('{"afterpull ledger":1}\n' + line.replace("ID", "0" * 32) + "\n", encoding="utf-8")
    [first, _] = refused_here("ledger", "import", export, ledger=ledger)
    assert first.startswith(f"{export}:2:1: ")
    assert first.endswith("lies outside the years 1950 to 2149")
