"""UIDs lie on phones and servers: what is written is read back."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.outputs.calendar.uids import alarm_uid, calendar_uid, entry_uid, read_alarm_uid, read_entry_uid, with_task, yard_slug


@pytest.mark.parametrize(("yard", "slug"), [("Kestrel Bank", "kestrel-bank"), ("Čebelnjak 2", "cebelnjak-2"), ("Ridge & Vale", "ridge-vale")])
def test_a_uid_names_its_yard_in_letters_that_survive_every_client(yard: str, slug: str) -> None:
    """And reads back to the task and the phase, for the entry a phone ticks."""
    name = entry_uid("ridge-2/a/drain", "end", yard, todo=True)
    assert name == f"ridge-2/a/drain.end.todo@{slug}.afterpull"
    assert read_entry_uid(name) == ("ridge-2/a/drain", "end", slug)


def test_yards_written_in_other_scripts_have_uids_apart() -> None:
    """Nothing of the name is ASCII: a short digest stands for it."""
    assert entry_uid("a", "begin", "Пасека") != entry_uid("a", "begin", "蜂場")
    assert read_entry_uid("meeting@example.org") is None


TASKS = st.from_regex(r"[A-Za-z0-9_-]{1,12}(/[a-z0-9-]{1,12}){1,2}(\.[1-9]){0,2}", fullmatch=True)
PHASES = st.from_regex(r"(begin|end)(-[2-9])?|hold|sitting|over|limit", fullmatch=True)


@given(TASKS, PHASES, st.text(min_size=1, max_size=20), st.booleans())
def test_a_uid_reads_back_to_task_phase_and_yard(task: str, phase: str, yard: str, todo: bool) -> None:
    """Whatever the yard is called; an alarm is no entry, and the calendar as a whole is neither."""
    slug = yard_slug(yard)
    assert read_entry_uid(entry_uid(task, phase, yard, todo=todo)) == (task, phase, slug)
    alarm = read_alarm_uid(alarm_uid(task, 3, yard, todo=todo))
    assert alarm == (f"{task}.alarm-3", task, 3, slug)
    assert read_entry_uid(alarm_uid(task, 3, yard, todo=todo)) is None
    assert read_alarm_uid(entry_uid(task, phase, yard, todo=todo)) is None
    assert read_entry_uid(calendar_uid(yard)) is read_alarm_uid(calendar_uid(yard)) is None
    assert slug.isascii()
    assert slug == yard_slug(slug)


@given(TASKS, TASKS, PHASES)
def test_an_entry_keeps_its_uid_under_the_id_its_task_had(now: str, before: str, phase: str) -> None:
    """Of entry and alarm; somebody else's stays."""
    ids = {now: before}
    assert with_task(entry_uid(now, phase, "Kestrel Bank"), ids) == entry_uid(before, phase, "Kestrel Bank")
    assert with_task(alarm_uid(now, 1, "Kestrel Bank", todo=True), ids) == alarm_uid(before, 1, "Kestrel Bank", todo=True)
    assert with_task("choir@example.org", {"choir": "band"}) == "choir@example.org"


def test_the_grammar_stays_as_phones_have_it() -> None:
    """As version 0.1.0 wrote them."""
    assert entry_uid("ridge-2/a/drain", "begin", "Kestrel Bank") == "ridge-2/a/drain.begin@kestrel-bank.afterpull"
    assert alarm_uid("ridge-2/a/drain", 0, "Kestrel Bank", todo=True) == "ridge-2/a/drain.alarm-0.todo@kestrel-bank.afterpull"
    assert calendar_uid("Kestrel Bank") == "feed@kestrel-bank.afterpull"
