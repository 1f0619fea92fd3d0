"""What was acknowledged is kept: through kill -9, many writers, a full disk, a folder that may not be written, a damaged file."""

from __future__ import annotations

import contextlib
import os
import resource
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import event

from scheduler.diagnostics import Refused
from scheduler.facts.fact import HarvestLogged, Recorded, TaskDone
from scheduler.ledger.store import Ledger
from tests.chance import LONG, random_of, times
from tests.facts.recorded import CUT, HARVEST, HOUR, PULLED, SEASON

NOW = PULLED + 100 * HOUR
ROOT = Path(__file__).resolve().parents[2]
NOBODY = 65534


def writer(where: str, name: str, count: int) -> subprocess.Popen[str]:
    """A process of its own that writes facts and says so."""
    command = [sys.executable, "-m", "tests.ledger.writer", where, name, str(count)]
    return subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, text=True)


def tasks(ledger: Ledger) -> list[str]:
    return [one.fact.task for one in ledger.facts() if isinstance(one.fact, TaskDone)]


@pytest.mark.slow
def test_every_acknowledged_fact_survives_kill_9(where: str) -> None:
    """A thousand writes, fewer in a short run, with the writer killed at random points: what it had acknowledged is there once, and the ledger is sound."""
    chance, acknowledged, kills, count = random_of("writers"), [], 0, 1000 if LONG else 250
    while len(acknowledged) < count:
        with writer(where, f"w{kills}", count - len(acknowledged)) as process:
            assert process.stdout is not None
            after = chance.randrange(1, 120 if LONG else 48)
            for line in process.stdout:
                acknowledged.append(line.strip())
                after -= 1
                if after == 0:
                    time.sleep(chance.random() * 0.002)  # somewhere inside the next write
                    process.kill()
                    kills += 1
    with Ledger.open(where) as ledger:
        found = tasks(ledger)
        assert set(acknowledged) <= set(found)
        assert len(found) == len(set(found)) <= len(acknowledged) + kills
        assert ledger.check() == []
    assert kills >= 5


@pytest.mark.slow
def test_a_ledger_killed_while_it_is_made_is_made_by_the_next(where: str) -> None:
    """Between nothing and a whole ledger there is no third state."""
    chance = random_of("makers")
    for number in range(6):
        with writer(where, f"w{number}", 1) as process:
            time.sleep(0.2 + chance.random())
            process.kill()
    with Ledger.open(where) as ledger:
        ledger.append([CUT], NOW)
        assert ledger.check() == []


@pytest.mark.slow
def test_four_processes_write_five_hundred_facts_each_and_lose_none(where: str) -> None:
    """Command line, page, timer and telephone at once: each fact is there, and each writer's own are in its order. A short run writes a hundred each."""
    count = 500 if LONG else 100
    writers = [writer(where, f"w{number}", count) for number in range(4)]
    for process in writers:
        process.communicate()
        assert process.returncode == 0
    with Ledger.open(where) as ledger:
        found = tasks(ledger)
        assert ledger.check() == []
    for number in range(4):
        assert [task for task in found if task.startswith(f"w{number}-")] == [f"w{number}-{one}" for one in range(count)]


@contextlib.contextmanager
def files_no_larger_than(size: int) -> Iterator[None]:
    """As on a disk that is full: no file grows beyond `size` bytes."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


def harvest(number: int) -> HarvestLogged:
    return HarvestLogged(occurred_at=PULLED, harvest=f"ridge-{number}", text="note: x\n" * 2000, path="ridge.yaml")


def fill(ledger: Ledger) -> tuple[int, str]:
    """Log harvests until one is refused: how many were taken, and the words."""
    for number in range(1000):
        try:
            ledger.append([harvest(number)], NOW)
        except Refused as refused:
            return number, str(refused)
    raise AssertionError("the disk never filled")


@pytest.mark.parametrize("kind", ["the disk takes no more", "the database may not grow"])
def test_a_full_disk_is_told_and_what_was_acknowledged_is_kept(tmp_path: Path, kind: str) -> None:
    """The fact that found no room is not there, all before it are, and with room again the ledger goes on."""
    with Ledger.open(tmp_path / "ledger.sqlite") as ledger:
        engine = ledger.alerts._connections.engine
        if kind == "the disk takes no more":
            with files_no_larger_than(400_000):
                taken, said = fill(ledger)
        else:
            event.listen(engine, "connect", lambda connection, _: connection.execute("PRAGMA max_page_count = 90").close())
            engine.dispose()
            taken, said = fill(ledger)
        assert taken > 2
        assert "disk" in said
        assert "write it again once" in said
        assert len(ledger.facts()) == taken
    with Ledger.open(tmp_path / "ledger.sqlite") as ledger:
        ledger.append([harvest(taken)], NOW)
        assert [one.fact for one in ledger.facts()] == [harvest(number) for number in range(taken + 1)]
        assert ledger.check() == []


def test_no_ledger_is_half_made_on_a_full_disk(tmp_path: Path) -> None:
    """It is refused, and the folder is as empty as before."""
    with files_no_larger_than(5000), pytest.raises(Refused, match="disk"):
        Ledger.open(tmp_path / "ledger.sqlite")
    assert list(tmp_path.iterdir()) == []


@contextlib.contextmanager
def without_rights() -> Iterator[None]:
    """As a user who may not do everything; root sets its rights aside for a while."""
    root = os.geteuid() == 0
    if root:
        os.seteuid(NOBODY)
    try:
        yield
    finally:
        if root:
            os.seteuid(0)


@pytest.fixture
def closed() -> Iterator[Path]:
    """A folder with a ledger in it, that may be read but not written."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        with Ledger.open(folder / "ledger.sqlite") as ledger:
            ledger.append(SEASON, NOW)
        (folder / "ledger.sqlite").chmod(0o444)
        folder.chmod(0o555)
        yield folder
        folder.chmod(0o755)


@pytest.mark.parametrize("name", ["ledger.sqlite", "new.sqlite", "deeper/new.sqlite"])
def test_a_folder_that_may_not_be_written_is_refused_and_left(closed: Path, name: str) -> None:
    """Whether a ledger is in it or is to be made in it; the answer says what to write instead."""
    before = (closed / "ledger.sqlite").read_bytes()
    with without_rights(), pytest.raises(Refused, match=r"may not be written|cannot be (opened|made here)") as caught, Ledger.open(closed / name) as ledger:
        ledger.append([CUT], NOW)
    assert "--ledger PATH in a folder" in str(caught.value)
    assert (closed / "ledger.sqlite").read_bytes() == before
    assert [one.name for one in closed.iterdir()] == ["ledger.sqlite"]


def test_a_ledger_that_another_program_does_not_let_go_of_is_refused_after_a_while(tmp_path: Path) -> None:
    """Who waits for ever tells nobody anything; afterwards all is as it was."""
    path = tmp_path / "ledger.sqlite"
    with Ledger.open(path, patience=0.05) as ledger:
        with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            with pytest.raises(Refused, match="locked by another program"):
                ledger.append([CUT], NOW)
        assert ledger.facts() == ()
        ledger.append([CUT], NOW)


def test_where_there_is_no_ledger_and_none_is_wanted_the_command_is_named(tmp_path: Path) -> None:
    """Looking does not make one."""
    with pytest.raises(Refused, match="there is no ledger here yet") as caught:
        Ledger.open(tmp_path / "ledger.sqlite", create=False)
    assert caught.value.diagnostics[0].write == "afterpull init"
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("number", range(times(800)))
def test_damage_anywhere_in_the_file_is_refused_or_reported_never_passed_over(tmp_path: Path, number: int) -> None:
    """Bytes are spoilt at a random place behind the header: either the facts are whole, or it is said; the file is not written.

    One letter that becomes another would pass: a ledger keeps no checksum of its texts.
    """
    path, chance = tmp_path / "ledger.sqlite", random_of(f"damage {number}")
    with Ledger.open(path) as ledger:
        whole = ledger.append([*SEASON, *map(harvest, range(4)), HARVEST], NOW)
    content = bytearray(path.read_bytes())
    if number % 4 == 0:
        del content[chance.randrange(100, len(content)) :]
    else:
        at, size = chance.randrange(100, len(content)), chance.choice([16, 400, 4096])
        content[at : at + size] = chance.randbytes(len(content[at : at + size]))
    path.write_bytes(content)
    assert outcome(path, whole)
    assert path.read_bytes() == content


def outcome(path: Path, whole: tuple[Recorded, ...]) -> bool:
    """Whether opening a damaged ledger ends in a refusal, a report, or all its facts."""
    try:
        with Ledger.open(path) as ledger:
            return bool(ledger.check()) or ledger.facts() == whole
    except Refused as refused:
        return bool(refused.diagnostics[0].write)
