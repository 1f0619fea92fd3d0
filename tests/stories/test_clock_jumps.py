"""Watches that are killed and stopped while the clock jumps, ahead and back, by hours to a year: what is lost and what comes twice is counted. Invented."""

from __future__ import annotations

import os
import signal
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from random import Random

import pytest

from scheduler.application.watch import CLAIM, LEASE, WATCH
from scheduler.daemon import seconds
from scheduler.ledger.alerts import SLACK, PlannedAlert
from scheduler.ledger.store import Ledger
from scheduler.local_time import DAY, HOUR
from tests.chance import random_of, times
from tests.stories.teller import moments, set_clock
from tests.stories.test_watch_killed import teller

TAKEN_OVER = CLAIM + LEASE + 60


@dataclass
class Tally:
    """
    What a season of faults came to.

    `lost` never came at its time or after it; `ahead` came while the clock was ahead, which does not count; `set_back` came once more after the clock
    had been behind; `again` are the messages with an alert that had come before and no such reason.
    """

    alerts: int
    kills: int = 0
    stops: int = 0
    jumps: int = 0
    lost: int = 0
    ahead: int = 0
    set_back: int = 0
    again: int = 0


class Season:
    """Time that goes on and a clock that is wrong now and then, for the watches of one ledger."""

    def __init__(self, where: str, folder: Path, count: int, chance: Random) -> None:
        self.where, self.delivered, self.clock = where, folder / "delivered", folder / "delivered.clock"
        self.chance, self.tally, self.passed = chance, Tally(count), 0
        self.behind: list[int] = []  # when the clock was
        self.running: list[subprocess.Popen[bytes]] = []  # the watches, so that a failure says which of them lives
        begins = seconds()
        self.due = {f"x/{number}#0@keeper": begins + chance.randrange(2 * HOUR, 60 * DAY) for number in range(count)}
        with Ledger.open(self.where) as ledger:
            ledger.alerts.offer([PlannedAlert(key, key.partition("#")[0], at, "Look at the hive", "comfort") for key, at in self.due.items()], begins)
        set_clock(self.clock, 0)

    def shows(self, wrong: int) -> None:
        """Set the clock, and wait until a watch has looked at it."""
        set_clock(self.clock, self.passed, wrong)
        end = time.monotonic() + 300
        with Ledger.open(self.where) as ledger:
            while (seen := ledger.outgoing.last_seen(WATCH)) is None or abs(seen[0] - moments(self.clock)[1]) > 60:
                assert time.monotonic() < end, f"no watch has looked for five minutes: {self.tally}, {seen}, ended: {[one.poll() for one in self.running]}"
                time.sleep(0.02)

    def sends_what_is_due(self) -> None:
        """Wait until the watch has sent all that is due by its clock, and what it had begun to send."""
        end = time.monotonic() + 120
        with Ledger.open(self.where) as ledger:
            while (due := ledger.alerts.next_due(now := moments(self.clock)[1])) is not None and due <= now:
                assert time.monotonic() < end, f"not all that is due was sent: {self.tally}"
                time.sleep(0.05)
        time.sleep(1)

    @contextmanager
    def watched(self) -> Iterator[None]:
        """A watch runs; in the end it is killed at once or after a moment, in the middle of what it does."""
        self.passed += TAKEN_OVER
        running = teller(self.where, self.delivered, self.passed)
        self.running = [*self.running[-1:], running]
        try:
            yield
            time.sleep(self.chance.random() * 0.1)
        finally:
            running.kill()
            running.wait()
        self.tally.kills += 1

    @contextmanager
    def stopped_first(self) -> Iterator[None]:
        """A watch is stopped at a random moment, another does its work, and the first goes on beside it."""
        self.passed += TAKEN_OVER
        first = teller(self.where, self.delivered, self.passed)
        self.running = [first]
        try:
            self.shows(0)
            time.sleep(self.chance.random() * 0.1)
            with Ledger.open(self.where) as ledger, ledger.alerts._connections.writing():  # a process stopped in a write keeps the ledger locked
                os.kill(first.pid, signal.SIGSTOP)
            self.tally.stops += 1
            with self.watched():
                yield
                os.kill(first.pid, signal.SIGCONT)
                time.sleep(0.2)
        finally:
            first.kill()
            first.wait()
        self.tally.kills += 1

    def goes_on(self, until: int) -> None:
        """Time goes on to a moment, with the clock wrong for a while; it is set right before it would have become right by itself."""
        if self.chance.random() < 0.6:
            wrong = self.chance.choice((-1, 1)) * self.chance.choice((5 * HOUR, 26 * HOUR, 45 * DAY, 365 * DAY))
            self.behind += [moments(self.clock)[0]] if wrong < 0 else []  # before a watch can have looked at it
            self.shows(wrong)
            self.passed += min(max(0, until - moments(self.clock)[0]), abs(wrong) // 2)
            self.shows(wrong)
            self.shows(0)
            self.tally.jumps += 1
        self.passed += max(0, until - moments(self.clock)[0])
        self.shows(0)

    def counted(self) -> Tally:
        """What came of it."""
        came: dict[str, int] = {}
        early: set[str] = set()  # came while the clock was ahead; where no watch looks by the right clock before that time is over, nobody can know
        for line in self.delivered.read_text().splitlines():
            at, clock, *keys = line.split()
            if int(clock) > int(at) + SLACK:
                self.tally.ahead += len(keys)
                early |= set(keys)
                continue
            assert all(int(at) >= self.due[key] - SLACK for key in keys)
            before = [came[key] for key in keys if key in came]
            excused = [moment for moment in before if any(moment <= behind <= int(at) for behind in self.behind)]
            self.tally.set_back += len(excused)
            self.tally.again += len(excused) < len(before)
            came |= dict.fromkeys(keys, int(at))
        self.tally.lost = len(self.due.keys() - came.keys() - early)
        return self.tally


def through(where: str, folder: Path, count: int, rounds: int, chance: Random) -> Tally:
    """A season with so many alerts and rounds of faults."""
    season = Season(where, folder, count, chance)
    moment, last = seconds(), max(season.due.values())
    for number in range(rounds):
        with season.stopped_first() if chance.random() < 0.3 else season.watched():
            for _ in range(4):
                moment += (last - moment) // (4 * (rounds - number)) + 1
                season.goes_on(moment)
    with season.watched():
        season.goes_on(last + HOUR)
        season.passed += HOUR
        season.shows(0)
        season.sends_what_is_due()
    return season.counted()


@pytest.mark.slow
def test_no_alert_is_lost_to_kills_stops_and_a_clock_that_jumps(new_place: str, tmp_path: Path) -> None:
    """Each comes at its time or as soon as a watch runs; a second time only in the message that a watch had on its way when it was killed or stopped."""
    tally = through(new_place, tmp_path, times(10_000), times(120), random_of("clock jumps"))
    assert tally.lost == 0, tally
    assert tally.again <= tally.kills + tally.stops, tally
    assert tally.jumps, tally
