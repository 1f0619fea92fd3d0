"""The agenda, `why`, the calendar, a feed and the watch are asked through an evening and a night: all give the same times. The yard is invented."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

import pytest
from icalendar import Calendar

from scheduler.application.publish import Feeds, select
from scheduler.application.watch import AlertSender
from scheduler.facts.fact import AlertAcknowledged
from scheduler.ledger.store import Ledger
from scheduler.outputs.calendar.uids import read_entry_uid
from scheduler.outputs.notify.config import NotificationConfig
from scheduler.planning.plan import Plan
from tests.application.watched_yard import Keeps
from tests.keeper import Keeper, section

SPIN, CUT = "ridge-2/b/spin", "ridge-2/a/cut.1"


def times(found: Plan) -> list[tuple[object, ...]]:
    """All that has a time, or none, in a plan. What bound it may differ: a plan that stands stands because it was sent."""
    return [(one.id, one.status, one.start, one.hold_done, one.finish, one.due, one.hands, one.alerts) for one in found.tasks]


class House(Keeper):
    """A keeper with a phone that has the feed, and a watch that looks whenever the clock is moved."""

    def __init__(self, folder: Path) -> None:
        super().__init__(folder / "ledger.sqlite", "kestrel_bank", "Europe/Ljubljana", "2026-08-11T10:31")
        self.logs("ridge-2")
        self.open = Ledger.open(self.ledger)
        self.feeds = Feeds(self.open, lambda: self.now)
        self.desktop = Keeps()
        self.watch = AlertSender(self.open, NotificationConfig(), {"desktop": self.desktop}, "watch")

    def clock(self, moment: int) -> str:
        """A moment as the keeper reads it; to the second where it is no whole minute."""
        return datetime.fromtimestamp(moment, self.zone).strftime("%a %-d %b %H:%M" if moment % 60 == 0 else "%a %-d %b %H:%M:%S")

    def starts(self, plan: Plan) -> dict[str, str]:
        """When the work of each task starts that is to be done."""
        return {task.id: self.clock(task.start) for task in plan.tasks if task.status in ("planned", "provisional") and task.sittings}

    def asked(self, moment: str) -> dict[str, str]:
        """When each task starts, at a moment of August 2026. Whoever is asked says the same."""
        self.waits_until(f"2026-08-{moment}")
        self.watch.look(self.now)
        assert self.watch.plan is not None
        starts = self.starts(self.watch.plan)
        content = self.types("calendar").replace("\n", "\r\n").encode()
        assert self.feeds.rendered(select()).content == content
        published = self._of_todos(self.types("calendar", "--todos", "--all").replace("\n", "\r\n").encode())
        assert {task: published[task] for task in starts} == starts
        begun = self._of_events(self.types("calendar", "--all").replace("\n", "\r\n").encode())
        assert {(task.id, self.clock(min(task.start, task.hands[0][0]))[:-6]) for task in self.watch.plan.tasks if task.id in starts} <= begun
        for day, task in self._of_agenda(self.types("agenda", "--all")):
            assert task not in starts or (task, starts[task].endswith(day)) == (task, True)  # of what was begun only its end is still to come
        for task in {SPIN, CUT} & starts.keys():
            assert f" from {starts[task]} to " in " ".join(self.types("why", task).split())
        assert times(self.plan) == times(self.watch.plan) == times(self.feeds.sent().plan)
        return starts

    def _of_todos(self, content: bytes) -> dict[str, str]:
        """When the to-do of each task starts."""
        named = [(read_entry_uid(str(part["UID"])), part) for part in Calendar.from_ical(content).todos]
        return {name.task: self.clock(int(part["DTSTART"].dt.timestamp())) for name, part in named if name and part["STATUS"] != "CANCELLED"}

    def _of_events(self, content: bytes) -> set[tuple[str, str]]:
        """The tasks that begin in the sittings of each day."""
        events = [part for part in Calendar.from_ical(content).events if part["STATUS"] != "CANCELLED" and "X-AFTERPULL-STEPS" in part]
        return {
            (key.removesuffix(" begin"), part["DTSTART"].dt.strftime("%a %-d %b"))
            for part in events
            for key in str(part["X-AFTERPULL-STEPS"]).replace("\\n", "\n").split("\n")
            if key.endswith(" begin")
        }

    def _of_agenda(self, text: str) -> Iterator[tuple[str, str]]:
        """The clock, or day and clock, of each first piece of work, and its task."""
        rows = re.findall(r"^ +(?:(\d\d:\d\d)(?:-\d\d:\d\d)?|(\w{3} \d+ \w{3} \d\d:\d\d)) +([^\[\n]+)\[(\S+)\]", _joined(text), re.MULTILINE)
        first: dict[str, str] = {}
        for today, later, _, task in rows:
            first.setdefault(task, today or later)
        yield from ((when, task) for task, when in first.items())

    @property
    def told(self) -> list[str]:
        """The alerts that reached the desktop, each time by itself or among others."""
        return [key for message in self.desktop.messages for key in (message.key, *message.other_keys)]

    def alerts(self) -> dict[str, str]:
        """When each alert is told that is still to come."""
        return {row.id: self.clock(row.due_at) for row in self.open.alerts.all() if row.next_attempt_at is not None and row.told_at is None}

    def planned_alerts(self) -> dict[str, str]:
        """The same by the plan, of work that nobody can have begun yet."""
        here = self.watch.plan.tasks if self.watch.plan else ()
        return {f"{task.id}#{number}@keeper": self.clock(told.at) for task in here if task.start > self.now for number, told in enumerate(task.alerts)}


def _joined(text: str) -> str:
    """An agenda with each entry on one line."""
    return re.sub(r"\n {9,}", " ", text)


@pytest.fixture
def house(tmp_path: Path) -> Iterator[House]:
    """Kestrel Bank, its harvest logged at half past ten."""
    found = House(tmp_path)
    yield found
    found.open.close()


EVENING = ["11T18:00:17", "11T18:40:33", "11T19:15", "11T20:00:59"]


def test_through_an_evening_in_which_nothing_is_recorded_everybody_says_the_same(house: House) -> None:
    """The cut stands where it stood as the evening began, to the minute, and its alert comes then."""
    asked = [house.asked(moment) for moment in EVENING]
    assert asked == [asked[0]] * len(EVENING)
    assert asked[0][CUT].startswith("Tue 11 Aug ")
    assert f"{SPIN}#0@keeper" in house.told
    to_come = house.alerts()
    assert to_come
    assert {name: house.planned_alerts().get(name, at) for name, at in to_come.items()} == to_come


def test_work_of_this_evening_is_not_overdue_before_the_evening_is_over(house: House) -> None:
    """The plan stands, and what nobody recorded stands where it was planned; with the next evening it is asked about."""
    house.waits_until("2026-08-11T18:40:33")
    agenda = house.types("agenda")
    assert agenda.startswith("Kestrel Bank, Tue 11 Aug 18:40\n")
    assert re.search(r"17:\d\d Reduce the entrances", section(agenda, "NOW"))
    assert "Reduce the entrances" not in section(agenda, "OVERDUE")
    assert section(agenda, "WAITING") == ""  # nobody said that a hold was begun
    house.waits_until("2026-08-12T09:00")
    assert "Reduce the entrances of 2 hives" in section(house.types("agenda", "--all"), "OVERDUE")


def test_what_an_evening_left_over_moves_to_the_next_as_it_ends(house: House) -> None:
    """For everybody at the same moment; the work that was told this evening is told again with the next one's."""
    this, last = house.asked("11T20:00"), house.asked("11T21:29:59")
    over = house.asked("11T21:30")
    assert this == last != over
    assert over[CUT].startswith("Wed 12 Aug ")
    house.desktop.messages.clear()
    begins = house.asked("12T17:30")[CUT]
    house.asked(f"12T{begins[-5:]}")
    assert f"{CUT}#0@keeper" in house.told


def test_a_night_and_the_day_after_it_move_nothing(house: House) -> None:
    """Nor does midnight, when the summaries of another day are offered."""
    assert house.asked("11T22:10") == house.asked("12T00:00") == house.asked("12T03:00:12") == house.asked("12T12:00") == house.asked("12T17:29:59")


def test_a_recorded_fact_moves_the_plan_at_once_and_for_everybody(house: House) -> None:
    """Spun at 18:40:33, which the plan counts from 18:41 on; then that plan stands."""
    before = house.asked("11T18:40:33")
    house.types("done", "close-up", "reduce-entrances", "b/spin")
    after = house.asked("11T18:40:33")
    assert SPIN not in after
    assert min(start for start in after.values() if start.startswith("Tue 11 Aug")) == "Tue 11 Aug 18:41"
    assert after["ridge-2/b/strain"] <= before["ridge-2/b/strain"]
    assert house.asked("11T19:15") == house.asked("11T20:59:59") == after


def test_an_alert_that_was_heard_moves_nothing(house: House) -> None:
    """Somebody dismisses an alarm on the phone in the middle of the evening."""
    before = house.asked("11T18:25")
    house.open.append([AlertAcknowledged(occurred_at=house.now, alert=f"{SPIN}#0@calendar")], house.now)
    assert house.asked("11T18:30") == before


def test_a_hold_that_was_begun_within_a_minute_ends_at_one_minute_for_everybody(house: House) -> None:
    """The combs went in at 20:47:54: the agenda, the watch and the calendar say until when, and none of them a second less than the hold."""
    frames = "ridge-2/c/freeze-comb.1"
    house.waits_until("2026-08-11T20:47:54")
    words = house.types("done", "c/freeze-comb")
    house.asked("11T20:50")
    [task] = [one for one in house.plan.tasks if one.id == frames]
    assert task.hold_done is not None
    until = house.clock(task.hold_done)
    assert task.hold_done >= house.moment("2026-08-11T20:47:54") + 2 * 86400  # its floor
    assert until in section(house.types("agenda"), "WAITING")
    assert f"holds until {until}" in words
    [event] = [part for part in Calendar.from_ical(house.feeds.rendered(select(holds=True)).content).events if str(part["UID"]).startswith(f"{frames}.hold@")]
    assert house.clock(int(event["DTEND"].dt.timestamp())) == until
    planned = [house.clock(alert.at) for alert in task.alerts if alert.at >= task.hold_done]
    assert planned == [at for name, at in house.alerts().items() if name.startswith(frames)]
