"""A subscriber who fetches the feed again and again sees every change once, nothing twice, and nothing that is not there."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from icalendar import Calendar

from scheduler.outputs.calendar.check import check
from scheduler.outputs.calendar.entries import entries
from scheduler.outputs.calendar.entry import EntryCache
from scheduler.outputs.calendar.publication import Published, publish
from scheduler.outputs.calendar.uids import entry_uid
from scheduler.outputs.calendar.vcalendar import feed
from scheduler.planning.plan import Plan, PlannedTask, Told
from tests.chance import random_of, times
from tests.outputs.plans import DAY, HOUR, at, plan, ridge, task

BEGIN = at("2026-08-11 10:30")


def fetched(published: dict[str, Published]) -> dict[str, tuple[int, str, bytes]]:
    """What a subscriber reads: revision, status and bytes of each UID."""
    content = b"".join(feed(published, name="Kestrel Bank", yard="Kestrel Bank", if_empty=("Europe/Ljubljana", 2026)))
    assert check(content, "feed.ics") == []
    return {str(event["UID"]): (int(event["SEQUENCE"]), str(event["STATUS"]), event.to_ical()) for event in Calendar.from_ical(content).events}


def changed(of: Plan, chance: random.Random, spare: list[PlannedTask]) -> Plan:
    """The plan after one thing that happens in a honey house."""
    tasks = list(of.tasks)
    number = chance.randrange(len(tasks)) if tasks else -1
    what = chance.choice(["later", "renamed", "alert", "dropped", "back", "done", "provisional", "nothing"])
    if what == "back" and spare:
        tasks.append(spare.pop(chance.randrange(len(spare))))
    elif number < 0:
        return of
    elif what == "later":
        lag = chance.randrange(1, 30) * HOUR
        moved = tasks[number]
        tasks[number] = replace(
            moved, start=moved.start + lag, finish=moved.finish + lag, hold_done=None, hands=tuple((a + lag, b + lag) for a, b in moved.hands)
        )
    elif what == "renamed":
        tasks[number] = replace(tasks[number], title=f"Pack {chance.randrange(100)} pieces")
    elif what == "alert":
        tasks[number] = replace(tasks[number], alerts=(*tasks[number].alerts, Told(tasks[number].start - HOUR, "Soon")))
    elif what == "dropped":
        spare.append(tasks.pop(number))
    elif what in ("done", "provisional"):
        tasks[number] = replace(tasks[number], status=what)
    return plan(*tasks, as_of=of.as_of)


@pytest.mark.parametrize("story", range(times(120)))
def test_fifty_changes_leave_a_subscriber_with_the_plan(story: int) -> None:
    """No duplicate, no ghost, no lost alarm: what is active is the plan, what fell away was cancelled first, one revision is one content."""
    chance, spare = random_of(story), list[PlannedTask]()
    cache: EntryCache = {}
    current, published, seen, as_of = ridge(), dict[str, Published](), dict[str, tuple[int, str, bytes]](), BEGIN
    for _ in range(50):
        current = changed(current, chance, spare)
        as_of += chance.choice([60, HOUR, DAY, 9 * DAY])
        offered = entries(current, cache=cache)
        assert offered == entries(current)
        published = publish(offered, published, as_of)
        now = fetched(published)
        for name in now.keys() & seen.keys():
            (sequence, _, content), (before, _, was) = now[name], seen[name]
            assert sequence == before + (content != was)
        assert all(seen[name][1] == "CANCELLED" for name in seen.keys() - now.keys())
        assert {name for name, (_, status, _) in now.items() if status != "CANCELLED"} == {entry.uid for entry in offered}
        assert sum(content.count(b"BEGIN:VALARM") for _, _, content in now.values()) == sum(len(entry.alarms) for entry in offered)
        seen = now


def test_nothing_changed_means_nothing_is_sent_anew() -> None:
    """The same plan a day later: the same bytes, so a hash of the feed still answers "not modified"."""
    first = publish(entries(ridge()), {}, BEGIN)
    second = publish(entries(ridge()), first, BEGIN + DAY)
    assert b"".join(feed(first, name="K", yard="K")) == b"".join(feed(second, name="K", yard="K"))
    assert all(second[name] is first[name] for name in first)


def test_only_the_entry_that_changed_is_raised() -> None:
    """The draining moves by an hour: its SEQUENCE is 1, its LAST-MODIFIED now, all others stand."""
    first = publish(entries(plan(task("cut", BEGIN), task("drain", BEGIN + HOUR))), {}, BEGIN)
    second = publish(entries(plan(task("cut", BEGIN), task("drain", BEGIN + 2 * HOUR))), first, BEGIN + 60)
    assert {name.split("@")[0]: (state.sequence, state.last_modified - BEGIN) for name, state in second.items()} == {
        "2026-08-11/1.sitting": (0, 0),
        "2026-08-11/2.sitting": (1, 60),
    }


def test_what_fell_away_is_cancelled_for_a_day_and_then_gone() -> None:
    """A vanished entry would stay in calendars that merge; a cancelled one is taken out of them. Its alarms are silenced."""
    drain = task("drain", BEGIN + HOUR, alerts=(Told(BEGIN, "Soon"),))
    state = publish(entries(plan(drain)), {}, BEGIN)
    state = publish((), state, BEGIN + DAY)
    (shown,) = fetched(state).values()
    assert shown[:2] == (1, "CANCELLED")
    assert b"VALARM" not in shown[2]
    assert b"SUMMARY:Cancelled: " in shown[2]
    assert b"TRANSP:TRANSPARENT" in shown[2]
    assert fetched(publish((), state, BEGIN + 2 * DAY - 60)) == fetched(state)
    assert publish((), state, BEGIN + 2 * DAY) == {}


def test_what_comes_back_is_a_later_revision_of_the_same_entry() -> None:
    """Cancelled by mistake, planned again: the subscriber sees revision 2 under the old UID."""
    drain = plan(task("drain", BEGIN + HOUR))
    state = publish(entries(drain), publish((), publish(entries(drain), {}, BEGIN), BEGIN + 60), BEGIN + 120)
    assert [(state.sequence, state.gone_since) for state in state.values()] == [(2, None)]


def test_an_alarm_dismissed_on_the_phone_stays_dismissed() -> None:
    """RFC 9074 ACKNOWLEDGED is kept in the entry, once all that its alarm stands for was dismissed: the freezing and the end of draining before it."""
    heard = at("2026-08-13 18:32")
    drained, frozen = (f"ridge-2/a/{name}.alarm-0@kestrel-bank.afterpull" for name in ("drain", "freeze"))
    line = f"ACKNOWLEDGED:{datetime.fromtimestamp(heard, UTC):%Y%m%dT%H%M%SZ}".encode()
    for dismissed, kept in (({drained: heard, frozen: heard}, True), ({drained: heard}, False)):
        state = publish(entries(ridge(), acknowledged=dismissed), {}, BEGIN)
        assert (line in state[entry_uid("2026-08-13/1", "sitting", "Kestrel Bank")].content) == kept
