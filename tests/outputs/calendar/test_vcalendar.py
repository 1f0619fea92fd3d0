"""A plan as iCalendar: the bytes, the text in them, and what each property means."""

from __future__ import annotations

import unicodedata
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from icalendar import Calendar

from scheduler.outputs.calendar.check import check
from scheduler.outputs.plain_text import one_line
from scheduler.planning.plan import Reason, Told
from scheduler.quantities import say
from tests.outputs.calendar.written import only, written
from tests.outputs.plans import at, plan, ridge, task

GOLDEN = Path(__file__).parents[1] / "golden"
ANYTHING = st.text(st.characters(exclude_categories=()), max_size=300)


@pytest.mark.parametrize(("name", "options"), [("ridge.ics", {}), ("ridge-todos.ics", {"todos": True}), ("ridge-holds.ics", {"holds": True})])
def test_the_bytes_of_a_calendar_are_these(name: str, options: dict[str, bool]) -> None:
    """Five frames of cut comb: events, to-dos, and events with the holds shown; compared byte by byte."""
    assert written(ridge(), **options) == (GOLDEN / name).read_bytes()
    assert check((GOLDEN / name).read_bytes(), name) == []


def test_the_same_plan_gives_the_same_bytes() -> None:
    """Two plans made apart from each other, one calendar."""
    assert written(ridge()) == written(ridge())


@given(ANYTHING, ANYTHING)
def test_any_text_of_any_plane_comes_out_sound_and_comes_back(title: str, why: str) -> None:
    """Every Unicode plane, CR, LF, commas, half surrogates, controls: the file is sound and a reader gets the text back, controls made safe."""
    reasons = (Reason("card drain", say("as written", text=why)),)
    drain = task("drain", at("2026-08-11 18:20"), title=title, reasons=reasons, alerts=(Told(at("2026-08-11 18:00"), title),))
    content = written(plan(drain))
    assert check(content, "x.ics") == []
    (event,) = Calendar.from_ical(content).events
    assert str(event["SUMMARY"]) == "ridge-2: drain a"
    step = one_line(title) or "ridge-2/a/drain"
    shown = step if len(step) <= 60 else f"{step[:59].rstrip()}…"
    assert f"18:20 {shown}" in str(event["DESCRIPTION"])
    (todo,) = Calendar.from_ical(written(plan(drain), todos=True)).todos
    assert str(todo["SUMMARY"]) == (one_line(title) or "ridge-2/a/drain")
    assert not {char for char in content.decode() if unicodedata.category(char) == "Cc"} - {"\r", "\n"}


@pytest.mark.parametrize("letter", ["a", "č", "蜜", "🐝", ",", "\\", ";", "\n", '"', "^"])
def test_a_title_of_5000_characters_is_folded_between_characters(letter: str) -> None:
    """No line above 75 octets, none that splits a character, and the whole title comes back."""
    title = "A" + 4998 * letter + "Z"
    content = written(plan(task("drain", at("2026-08-11 18:20"), title=title)), todos=True)
    assert check(content, "x.ics") == []
    (todo,) = Calendar.from_ical(content).todos
    assert str(todo["SUMMARY"]) == one_line(title)


def test_bidirectional_controls_do_not_turn_the_line_round() -> None:
    """A title that opens an override and never closes it would show the times after it backwards; Hebrew and Arabic letters stay."""
    entry = only(plan(task("drain", at("2026-08-11 18:20"), title="\u202eדבש \u2067عسل 12")), todos=True)
    assert str(entry["SUMMARY"]) == "דבש عسل 12"


def test_a_plan_without_tasks_is_still_a_calendar() -> None:
    """A subscriber of an empty plan gets a file a reader takes: its header, and nothing to do."""
    assert Calendar.from_ical(written(plan())).events == []
