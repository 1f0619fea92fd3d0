"""A sync knows its own writes: an older copy of a ledger, another ledger and many moves at once invent no facts and delete nothing of anybody's."""

from __future__ import annotations

import random
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from icalendar import vText

from scheduler.application.publish import publish_plan
from scheduler.application.sync import HANDFUL, Unsure, sync
from scheduler.facts.fact import TaskDone, TaskFact
from scheduler.ledger.store import Ledger
from scheduler.outputs.calendar.uids import read_entry_uid
from tests.chance import random_of, times
from tests.conftest import PULLED, fill
from tests.outputs.caldav.double import Lying, tick

HOUR = 3600


def told(ledger: Ledger) -> list[TaskFact]:
    """What the ledger says of tasks."""
    return [one.fact for one in ledger.facts() if isinstance(one.fact, TaskFact)]


def starting(remote: Lying, number: int) -> list[str]:
    """The UIDs of the first evenings' work that is still to come."""
    timed = {uid: part.start for uid, part in remote.entries().items() if ".sitting@" in uid and isinstance(part.start, datetime)}
    coming = [(start, uid) for uid, start in timed.items()]
    return [uid for _, uid in sorted(coming)][:number]


def dragged(**by: int) -> Callable[[Any], None]:
    """An entry at another time."""

    def change(part: Any) -> None:
        for name in ("DTSTART", "DTEND"):
            part[name].dt += timedelta(**by)

    return change


@contextmanager
def another(folder: Path) -> Iterator[Ledger]:
    """A ledger of the same yard on another computer, begun by itself."""
    with Ledger.open(folder / "another.sqlite") as opened:
        fill(opened)
        yield opened


def test_a_restored_backup_changes_nothing_without_a_word(where: str, tmp_path: Path) -> None:
    """Work was recorded and synced after the copy was made: the copy is refused, and with the keeper's word it invents no fact."""
    remote, backup = Lying(), tmp_path / "backup.sqlite"
    with Ledger.open(where) as ledger:
        sync(ledger, remote, "double", PULLED)
        ledger.backup(backup)
        names = [task.id for task in publish_plan(ledger, PULLED).plan.tasks if task.hands and task.hold_done is None][:6]
        ledger.append([TaskDone(occurred_at=PULLED + HOUR, task=name) for name in names], PULLED + HOUR)
        sync(ledger, remote, "double", PULLED + HOUR)
    shutil.copy(backup, tmp_path / "restored.sqlite")
    with Ledger.open(tmp_path / "restored.sqlite") as restored:
        before, puts = len(restored.facts()), remote.puts
        with pytest.raises(Unsure, match="it is an older copy"):
            sync(restored, remote, "double", PULLED + 2 * HOUR)
        assert (len(restored.facts()), remote.puts) == (before, puts)
        report = sync(restored, remote, "double", PULLED + 2 * HOUR, sure=True)
        assert (report.facts, told(restored)) == (0, [])


def test_two_ledgers_on_one_calendar_leave_each_other_alone(ledger: Ledger, tmp_path: Path) -> None:
    """The second computer writes nothing under names that are taken, deletes nothing, and says what to do."""
    remote = Lying()
    sync(ledger, remote, "double", PULLED)
    held = dict(remote.held)
    with another(tmp_path) as second:
        second.append([TaskDone(occurred_at=PULLED + 60, task="ridge-2/close-up")], PULLED + 60)
        report = sync(second, remote, "double", PULLED + HOUR)
        assert report.facts == 0
        assert any("entries of another ledger are there under the same names and were left alone" in line for line in report.lines)
        assert {href: remote.held[href] for href in held} == held
    assert sync(ledger, remote, "double", PULLED).facts == 0
    assert told(ledger) == []


def test_many_moves_at_once_are_asked_about(ledger: Ledger) -> None:
    """A calendar program that shifted everything by a day is not believed without a word; a handful is."""
    remote = Lying()
    sync(ledger, remote, "double", PULLED)
    for uid in starting(remote, HANDFUL + 1):
        remote.edit(uid, dragged(days=1))
    with pytest.raises(Unsure, match=f"{HANDFUL + 1} entries were moved in the calendar at once"):
        sync(ledger, remote, "double", PULLED + 60)
    assert told(ledger) == []
    assert sync(ledger, remote, "double", PULLED + 60, sure=True).facts > 0


def test_a_title_that_a_person_changed_is_said_to_be_replaced_and_an_alarm_of_theirs_stays(ledger: Ledger) -> None:
    """Once, with what to do instead; then all is quiet."""
    remote = Lying()
    sync(ledger, remote, "double", PULLED)
    uid = starting(remote, 1)[0]

    def own(part: Any) -> None:
        part["SUMMARY"] = vText("My words")
        part["COLOR"] = vText("plum")

    remote.edit(uid, own)
    report = sync(ledger, remote, "double", PULLED + 60)
    assert [line for line in report.lines if "title changed in the calendar; afterpull writes its own there" in line]
    assert (str(remote.entries()[uid]["COLOR"]), str(remote.entries()[uid]["SUMMARY"]) != "My words") == ("plum", True)
    assert sync(ledger, remote, "double", PULLED + 120).lines == []


def test_an_object_without_a_mark_is_ours_where_its_name_was_published(ledger: Ledger, tmp_path: Path) -> None:
    """As the version before wrote them: a tick on one is heard. To a ledger that never published the name it is another's."""
    remote = Lying()
    sync(ledger, remote, "double", PULLED)
    for uid in list(remote.entries()):
        remote.edit(uid, lambda part: [part.pop(name) for name in list(part) if name.startswith("X-AFTERPULL-") and name != "X-AFTERPULL-STEPS"])
    simple = {task.id for task in publish_plan(ledger, PULLED).plan.tasks if task.hold_done is None and task.status == "planned"}
    uid = next(uid for uid in sorted(remote.entries()) if (named := read_entry_uid(uid)) and named.task in simple and ".todo@" in uid)
    remote.edit(uid, lambda part: tick(part, PULLED + 60))
    assert sync(ledger, remote, "double", PULLED + HOUR).facts == 1


@pytest.mark.slow
def test_through_many_rounds_nothing_is_invented_and_nothing_of_the_other_is_deleted(ledger: Ledger, tmp_path: Path) -> None:
    """Two ledgers, a person with a phone, and copies that come back: each fact was somebody's doing, and each entry has one writer."""
    remote, chance = Lying(), random_of("sync rounds")
    pressed = 0
    with another(tmp_path) as second:
        sync(ledger, remote, "double", PULLED)
        for round_ in range(times(300)):
            now = PULLED + 60 * (round_ + 1)
            pressed += _somebody(remote, chance, now)
            mine = {uid for uid, part in remote.entries().items() if str(part.get("X-AFTERPULL-LEDGER")) == _id(ledger)}
            sync(second, remote, "double", now)
            assert mine <= set(remote.entries())
            sync(ledger, remote, "double", now, sure=True)
            assert told(second) == []
            assert len({fact.task for fact in told(ledger) if isinstance(fact, TaskDone)}) <= pressed


def _id(ledger: Ledger) -> str:
    return ledger.facts()[0].id


def _somebody(remote: Lying, chance: random.Random, now: int) -> int:
    """Now and then somebody ticks a to-do; how many were ticked."""
    open_ = [uid for uid, part in remote.entries().items() if ".todo@" in uid and str(part["STATUS"]) == "NEEDS-ACTION"]
    if not open_ or chance.random() < 0.7:
        return 0
    remote.edit(chance.choice(sorted(open_)), lambda part: tick(part, now))
    return 1
