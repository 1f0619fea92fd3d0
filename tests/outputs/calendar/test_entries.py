"""What a calendar shows: three weeks ahead, and the next of each series beyond them. The plan is invented."""

from __future__ import annotations

from dataclasses import replace

from scheduler.outputs.calendar.entries import HORIZON, beyond, entries, near_tasks
from scheduler.outputs.calendar.uids import entry_uid
from scheduler.planning.sittings import sittings
from tests.outputs.plans import DAY, at, plan, task

NOW = at("2026-08-11 17:00")
LOOKS = tuple(replace(task(f"look.{number}", NOW + (40 + 21 * number) * DAY), rule="dry comb/look") for number in range(3))
SOON, FAR = task("spin", NOW + HORIZON - 60), task("feed", NOW + HORIZON)


def near(*tasks: object) -> list[str]:
    """The last part of each task that is shown."""
    return sorted(name.rpartition("/")[2] for name in near_tasks(plan(*tasks, as_of=NOW)))  # type: ignore[arg-type]


def test_what_begins_within_three_weeks_is_shown() -> None:
    """To the second; what is over or done is not to come."""
    assert HORIZON == 21 * DAY
    assert near(SOON, replace(FAR, rule=SOON.rule)) == ["spin"]
    assert near(replace(SOON, status="done")) == []


def test_the_next_of_each_series_is_shown_however_far_it_is() -> None:
    """Of the same card for the same lot one; of another lot its own."""
    other = replace(LOOKS[1], id="ridge-2/b/look.2", lot="b")
    assert near(*LOOKS) == ["look.0"]
    assert near(*LOOKS, other) == ["look.0", "look.2"]


def test_what_lies_beyond_is_hidden_in_every_shape() -> None:
    """Its sitting and its to-do; what is near is in neither."""
    whole = plan(SOON, *LOOKS, as_of=NOW)
    hidden = beyond(whole, sittings(whole.tasks, whole.timezone))
    shown = {entry.uid for entry in (*entries(whole), *entries(whole, todos=True))} - hidden
    assert len(shown) == 4  # work of this month and the next look, each as event and as to-do
    assert entry_uid(LOOKS[2].id, "begin", whole.yard, todo=True) in hidden
    assert entry_uid(SOON.id, "begin", whole.yard, todo=True) in shown
