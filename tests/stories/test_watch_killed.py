"""Watches that are killed or stopped in the middle of telling: nothing is lost, and what is told twice is counted. The alerts are invented."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections import Counter
from pathlib import Path

import pytest

from scheduler.application.watch import CLAIM, LEASE
from scheduler.daemon import seconds
from scheduler.ledger.alerts import PlannedAlert
from scheduler.ledger.store import Ledger
from tests.chance import random_of, times
from tests.stories.teller import set_clock

pytestmark = [pytest.mark.slow]


def offered(where: str, count: int, late: int = 0) -> set[str]:
    """Offer alerts that are all due, or `late` by so many seconds; returns their ids. What is comfort is told once, without repeats."""
    due = [PlannedAlert(f"x/{number}#0@keeper", f"x/{number}", seconds() - late - number, f"Look at hive {number}", "comfort") for number in range(count)]
    with Ledger.open(where) as ledger:
        ledger.alerts.offer(due, seconds())
    return {one.id for one in due}


def teller(where: str | Path, delivered: Path, ahead: int, pause: int = 0) -> subprocess.Popen[bytes]:
    """Start a watch after so many seconds have passed, for every watch of the test."""
    clock = delivered.with_suffix(".clock")
    set_clock(clock, ahead)
    return subprocess.Popen([sys.executable, "-m", "tests.stories.teller", str(where), str(delivered), str(clock), str(pause)])


def lines(delivered: Path) -> list[str]:
    """The keys that were delivered, in their order."""
    return [key for line in delivered.read_text().splitlines() for key in line.split()[2:]] if delivered.exists() else []


def grows_to(delivered: Path, count: int, seconds: float = 120) -> None:
    """Wait until so many were delivered."""
    end = time.monotonic() + seconds
    while len(lines(delivered)) < count:
        assert time.monotonic() < end, f"{len(lines(delivered))} of {count} were delivered"
        time.sleep(0.02)


def test_no_alert_is_lost_to_kills_and_each_kill_repeats_one_at_most(new_place: str, tmp_path: Path) -> None:
    """A watch killed at a random moment tells again, at most, the one that it had told and not yet written down."""
    where, delivered, chance, count = new_place, tmp_path / "delivered", random_of("killed watches"), times(10_000)
    ids = offered(where, count)
    kills = 0
    while len(set(lines(delivered))) < count:
        running = teller(where, delivered, ahead=kills * (CLAIM + LEASE + 60))
        grows_to(delivered, len(lines(delivered)) + min(chance.randint(1, count // 8), count - len(set(lines(delivered)))))
        time.sleep(chance.random() * 0.02)
        running.kill()
        running.wait()
        kills += 1
    told = Counter(lines(delivered))
    assert set(told) == ids
    twice = sum(times - 1 for times in told.values())
    assert twice <= kills, f"{twice} told twice in {kills} kills"


def test_what_was_slept_through_is_told_in_one_message_and_again_only_where_a_kill_came_before_it_was_written_down(new_place: str, tmp_path: Path) -> None:
    """The message is out, and the watch is killed before it wrote all of it down: the rest is told once more, together."""
    where, delivered = new_place, tmp_path / "delivered"
    ids = offered(where, 200, late=30 * 86400)
    first = teller(where, delivered, ahead=0, pause=1)  # rests between the message and the ledger
    grows_to(delivered, 200)
    first.kill()
    first.wait()
    assert set(lines(delivered)) == ids
    second = teller(where, delivered, ahead=CLAIM + LEASE + 60)
    grows_to(delivered, 400)
    second.terminate()
    second.wait(timeout=30)
    assert Counter(lines(delivered)) == dict.fromkeys(ids, 2)
    assert len(delivered.read_text().splitlines()) == 2
    with Ledger.open(where) as ledger:
        assert all(one.told_at is not None and one.channel == "desktop" for one in ledger.alerts.all())


def test_a_stopped_watch_is_taken_over_and_does_no_harm_when_it_goes_on(new_place: str, tmp_path: Path) -> None:
    """Stopped for minutes, by the second watch's clock; the one alert in its hands when it stopped may be told twice."""
    where, delivered = new_place, tmp_path / "delivered"
    ids = offered(where, 300)
    first = teller(where, delivered, ahead=0, pause=20)  # not while it writes: a process stopped in a write keeps the file locked
    grows_to(delivered, 20)
    os.kill(first.pid, signal.SIGSTOP)
    second = teller(where, delivered, ahead=CLAIM + LEASE + 60)
    try:
        grows_to(delivered, 200)
        os.kill(first.pid, signal.SIGCONT)
        grows_to(delivered, 301)  # the one in the first's hands twice
    finally:
        for process in (first, second):
            process.send_signal(signal.SIGCONT)
            process.terminate()
        for process in (first, second):
            process.wait(timeout=30)
    told = Counter(lines(delivered))
    assert set(told) == ids
    assert sum(times - 1 for times in told.values()) == 1
