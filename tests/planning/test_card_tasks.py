"""One card on one lot: its phases, windows, dates and alerts, whose work it is, and what the keeper told of it."""

from __future__ import annotations

from datetime import datetime

import pytest

from scheduler.facts.yard import Yard, read_yard
from scheduler.outputs.wording.sentence import title_of
from scheduler.planning.draft import Happened
from scheduler.planning.plan import Plan, PlannedTask
from tests.planning.cards import NUMBERS, ZONE, at, planned, reasons, starts, tasks, warnings
from tests.planning.whole import yard_text

HOUR = 3600


def task(card: str, happened: Happened | None = None, place: Yard | None = None, more: str = NUMBERS, as_of: str = "2026-08-11T10:30") -> PlannedTask:
    """The task of one card for the cut comb."""
    return tasks(planned(f"drain: {{title: Drain, for: cut comb, why: x, {card}}}", happened=happened or Happened(), place=place, more=more, as_of=as_of))[
        "w/a/drain"
    ]


def local(moment: int | None) -> str:
    """Day and time in August."""
    return "" if moment is None else f"{datetime.fromtimestamp(moment, ZONE):%d %H:%M}"


def test_a_task_is_work_then_a_hold_that_needs_nobody_then_work_again() -> None:
    """Ten minutes to set pieces on the rack in the evening, a day to drain, half an hour to pack them the next evening."""
    found = task("hands: {before: 10 min, after: 30 min}, hold: 24 h")
    assert [local(moment) for moment in (found.start, found.hold_done, found.finish)] == ["11 17:30", "12 17:40", "12 18:10"]
    assert [(local(a), local(b)) for a, b in found.hands] == [("11 17:30", "11 17:40"), ("12 17:40", "12 18:10")]


def test_urgent_work_lies_outside_free_hours() -> None:
    """A moisture reading is taken as soon as the supers are in."""
    assert local(task("hands: {before: 10 min, hours: any}").start) == "11 10:30"


@pytest.mark.parametrize(
    ("card", "start"),
    [
        ("earliest: pulled + 30 h", "12 17:30"),
        ("earliest: [pulled + 30 h, pulled + 60 h]", "13 22:30"),
        ("earliest: pulled - 30 h", "11 10:30"),
    ],
)
def test_work_begins_at_the_latest_of_the_moments_it_waits_for(card: str, start: str) -> None:
    """And never before the pull."""
    assert local(task(f"hands: {{before: 10 min, hours: {'free' if start == '12 17:30' else 'any'}}}, {card}").start) == start


def test_the_earliest_of_several_limits_is_the_due_date() -> None:
    """Of due dates and of deadlines; the day of a mark is given whole."""
    assert local(task("due: [pulled + 48 h, pulled + 72 h]").due) == "13 10:30"
    assert local(task("due: pulled + 72 h, deadline: pulled + 48 h").due) == "13 10:30"
    assert task("due: first frost").due == at("2026-10-15 00:00")
    assert task("hands: 5 min").due is None


def test_what_hangs_on_a_normal_is_provisional_and_what_hangs_on_the_pull_is_not() -> None:
    """Until frost is seen, its date is a normal; a mark that the yard file lacks is told once and leaves the task without it."""
    assert task("due: first frost").status == "provisional"
    assert task("due: pulled + 72 h").status == "planned"
    assert task("provisional: when the buyer calls").status == "provisional"
    without = yard_without("  first frost: 14 October\n")
    assert task("due: first frost", place=without).due is None
    cards = "one: {title: One, for: cut comb, due: first frost, why: x}\ntwo: {title: Two, for: cut comb, due: first frost, why: x}"
    assert [warning.task for warning in planned(cards, place=without).warnings if warning.kind == "unknown mark"] == ["w/a/one"]


def yard_without(line: str) -> Yard:
    """The usual yard less a line of its file."""
    assert line in yard_text()
    return read_yard(yard_text().replace(line, "").encode(), "yard.yaml")


def test_windows_of_a_card_are_read_with_its_numbers() -> None:
    """From an hour after dusk, as a number of the set or as itself; a wall clock; outside the robbing season, which ends on 15 October."""
    cards = [f"hands: {{before: 10 min, hours: any}}, window: {{sun: {{at: dusk, from: {after}, to: 5 h}}}}" for after in ("$floor", "1 h", "2 h")]
    by_number, by_itself, later = (task(card, more=NUMBERS.replace("12 h", "1 h")).start for card in cards)
    assert (by_number, later) == (by_itself, by_itself + HOUR)
    assert local(task("hands: {before: 10 min, hours: any}, window: {clock: '05:00-10:00'}").start) == "12 05:00"
    assert task("hands: {before: 10 min, hours: any}, window: {season: {outside: robbing}}").start == at("2026-10-16 00:00")


def test_alerts_are_told_at_their_moments_and_so_long_before() -> None:
    """At the start, when the hold is done, when it is due, and an hour before the finish; with the words of the lot."""
    found = task(
        "hands: {before: 10 min, after: 30 min}, hold: 24 h, due: pulled + 72 h, alerts: [{say: 'Set out {lot.pieces} pieces'}, "
        "{at: hold done, say: b}, {at: due, say: c}, {at: finish, before: 1 h, say: d}]"
    )
    assert {told.say: local(told.at) for told in found.alerts} == {"Set out 20 pieces": "11 17:30", "b": "12 17:40", "c": "14 10:30", "d": "12 17:10"}


def test_an_alert_of_a_hold_or_a_limit_that_is_not_there_is_told_at_the_end() -> None:
    """There is no hold to be done, and no limit."""
    found = task("hands: 10 min, alerts: [{at: hold done, say: b}, {at: due, say: c}]")
    assert [local(told.at) for told in found.alerts] == ["11 17:40", "11 17:40"]


@pytest.mark.parametrize(
    ("takes", "ash"), [("drain", True), ("mine/drain", True), ("mine", True), ("cut comb", True), ("honey room", True), ("apiary", False), ("spin", False)]
)
def test_work_is_given_by_its_card_its_set_its_stream_or_its_place(takes: str, ash: bool) -> None:
    """Ash is free in the morning, the keeper in the evening."""
    place = read_yard(
        yard_text().replace("room:", f"people: {{Ash: {{hands: {{every day: '08:00-12:00'}}, takes: [{takes}]}}}}\nroom:", 1).encode(), "yard.yaml"
    )
    found = task("hands: 10 min", place=place)
    assert (found.person, local(found.start)) == (("Ash", "11 10:30") if ash else (None, "11 17:30"))
    assert task("hold: 5 h, hands: 0 min", place=place).person is None


def test_what_was_put_off_or_begun_counts() -> None:
    """Put off until tomorrow morning; begun at noon, so that only the packing is left."""
    assert local(task("hands: {before: 10 min, hours: any}", Happened(put_off={"w/a/drain": at("12 08:00")})).start) == "12 08:00"
    assert local(task("hands: {before: 10 min, hours: any}", Happened(put_off={"w/a/drain": at("11 08:00")})).start) == "11 10:30"
    begun = task("hands: {before: 10 min, after: 30 min, hours: any}, hold: 24 h", Happened(begun={"w/a/drain": at("11 12:00")}), as_of="2026-08-11T13:00")
    assert [local(moment) for moment in (begun.start, begun.hold_done, begun.finish)] == ["11 11:50", "12 12:00", "12 12:30"]
    assert [(local(a), local(b)) for a, b in begun.hands] == [("12 12:00", "12 12:30")]


def test_of_a_batch_done_in_part_the_rest_of_the_work_is_left() -> None:
    """Fifty minutes for twenty pieces: with twelve done, twenty minutes for eight; with more done than there are, none."""
    card = "cut: {title: Cut, for: cut comb, batches: {of: lot.pieces, fits: freezer}, hands: 50 min, why: x}"
    for done, minutes, title in ((12.0, 20, "Cut (8 of 20 left)"), (20.0, 0, "Cut (0 of 20 left)"), (25.0, 0, "Cut (0 of 20 left)")):
        found = tasks(planned(card, happened=Happened(partly={"w/a/cut.1": done})))["w/a/cut.1"]
        assert (title_of(found), sum(b - a for a, b in found.hands)) == (title, minutes * 60)
        assert found.left == max(0.0, 20 - done)


def repeated(happened: Happened, as_of: str = "2026-08-11T10:30") -> Plan:
    """A feeding of ten minutes, three times, a day apart."""
    return planned(
        "feed: {title: Feed, for: cut comb, hands: {before: 10 min, hours: any}, repeat: {every: 24 h, times: 3}, why: x}", happened=happened, as_of=as_of
    )


def test_what_was_told_of_the_first_is_not_told_of_its_repeats() -> None:
    """Put off and done, the first alone; those after it follow it by a day each."""
    assert list(starts(repeated(Happened(put_off={"w/a/feed": at("12 08:00")}))).values()) == ["12 08:00", "13 08:00", "14 08:00"]
    done = repeated(Happened(done={"w/a/feed": (at("11 11:00"), at("11 11:10"))}), as_of="2026-08-11T11:10")
    assert [one.status for one in done.tasks] == ["done", "planned", "planned"]
    assert list(starts(done).values()) == ["11 11:00", "12 10:30", "13 10:30"]
    assert "repeat" in reasons(done.tasks[1])
    assert "repeat" not in reasons(done.tasks[0])


def test_a_card_repeats_sixty_times_at_most() -> None:
    """A winter of weekly looks is under thirty; a slip of the pen is not a plan without end."""
    found = planned("look: {title: Look, for: cut comb, repeat: {every: 1 h, times: 100}, why: x}")
    assert len(found.tasks) == 60
    assert len(planned("look: {title: Look, for: cut comb, repeat: {every: 0 h, times: 100}, why: x}").tasks) == 1


def test_equipment_that_the_yard_does_not_name_is_not_counted_and_that_is_said() -> None:
    """There is no warm box in the yard file."""
    assert reasons(task("occupies: {warm box: 1}, hold: 5 h"))["no warm box"].startswith('the yard file has no "warm box"')
    assert warnings(planned("cut: {title: Cut, for: cut comb, why: x}"))["unused equipment"]


def test_a_window_of_a_day_of_the_week_is_kept_and_said() -> None:
    """On Saturdays only, in the hours that are free then."""
    found = planned("sweep: {title: Sweep, for: harvest, window: on sat, hands: 20 min, why: x}")
    assert starts(found) == {"w/sweep": "15 08:00"}
    assert "window days" in [reason.label for reason in found.tasks[0].reasons]
