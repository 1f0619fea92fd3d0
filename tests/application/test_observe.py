"""Tables from instruments are told as they were understood; what cannot be one is refused, and nothing is kept. The tables are invented."""

from __future__ import annotations

from typing import Any

import pytest

from scheduler.application.observe import Saying, record_series
from scheduler.diagnostics import Fault, Refused
from scheduler.facts.fact import SeriesRecorded
from scheduler.ledger.store import Ledger
from tests.keeper import Keeper

LOG = "time,temperature °C\n2026-08-10 10:00,-18\n2026-08-10 11:00,-17\n2026-08-10 12:00,-19\n"


def told(keeper: Keeper, words: str, content: str | bytes, of: str | None = None, **more: Any) -> str:
    """What is said of a table that was kept."""
    with Ledger.open(keeper.ledger) as ledger:
        data = content if isinstance(content, bytes) else content.encode()
        return record_series(ledger, keeper.view, words.split(), of, data, "table.csv", keeper.now, Saying(**more))


def kept(keeper: Keeper) -> list[SeriesRecorded]:
    """The tables in the ledger."""
    return [one.fact for one in keeper.view.facts if isinstance(one.fact, SeriesRecorded)]


@pytest.mark.parametrize("words", ["series freezer", "freezer", "Series FREEZER"])
def test_a_log_is_told_with_its_rows_span_interval_and_temperatures(ridge: Keeper, words: str) -> None:
    """The one freezer of the yard need not be named; local time at the yard."""
    said = told(ridge, words, LOG)
    assert said == (
        "freezer: 3 readings from Mon 10 Aug 10:00 to Mon 10 Aug 12:00, every 1 h; -19 °C to -17 °C\n"
        '  read: times from "time", values from "temperature °C"; °C by the column\'s name; local time of Europe/Ljubljana as usual here\n'
        "  first Mon 10 Aug 10:00 -18 °C, last Mon 10 Aug 12:00 -19 °C"
    )
    [fact] = kept(ridge)
    assert (fact.of, fact.what, fact.text) == ("freezer", "freezer", LOG)


def test_a_log_that_was_silent_says_when(ridge: Keeper) -> None:
    """Three gaps by name, the rest by number."""
    hours = [f"2026-08-{day:02} {hour:02}:00,-18" for day in range(2, 11) for hour in range(4 if day % 2 else 2)]
    said = told(ridge, "freezer", "time,temperature °C\n" + "\n".join(hours) + "\n")
    assert said.count("silent from ") == 3
    assert "silent from Sun 2 Aug 01:00 to Mon 3 Aug 00:00" in said
    assert "and 5 more gaps" in said


@pytest.mark.parametrize(
    ("words", "of", "content", "unit", "said"),
    [
        ("series", None, LOG, None, "a file is of a freezer, the store, a hive scale or the weather"),
        ("frezer", None, LOG, None, "a file is of a freezer"),
        ("freezer scale", None, LOG, None, "a file is of a freezer"),
        ("freezer", "cellar", LOG, None, '"cellar" is not a freezer of this yard'),
        ("freezer", None, LOG, "K", '"K" is not a unit known here'),
    ],
)
def test_what_is_of_nothing_here_is_refused(ridge: Keeper, words: str, of: str | None, content: str, unit: str | None, said: str) -> None:
    """Neither kind, nor freezer, nor unit is guessed."""
    with pytest.raises(Fault, match=said) as refused:
        told(ridge, words, content, of, **({"unit": unit} if unit else {}))
    assert refused.value.write
    assert kept(ridge) == []


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"\xff\xfe1", r"table\.csv:1:1: this is marked as UTF-16, and is not"),
        ("time,temperature °C\n", r"table\.csv:1:1: the table names its columns and has no rows"),
        (LOG.replace("2026-08-10", "2026-08-14"), r"table\.csv:4:1: 14 Aug 2026 is still to come"),
        (LOG.replace("2026", "1810"), "1810"),
    ],
)
def test_what_is_no_log_is_refused_by_the_name_of_its_file(ridge: Keeper, content: str | bytes, said: str) -> None:
    """No text, no row, a clock that runs ahead by more than a day, another age."""
    with pytest.raises(Refused, match=said):
        told(ridge, "freezer", content)
    assert kept(ridge) == []


def test_a_clock_that_is_a_day_ahead_is_borne(ridge: Keeper) -> None:
    """A logger set to another zone."""
    assert "12 Aug 12:00" in told(ridge, "freezer", LOG.replace("2026-08-10", "2026-08-12"))


def test_a_scale_may_have_a_name_and_tells_its_days(ridge: Keeper) -> None:
    """And in what it was read."""
    said = told(ridge, "scale", "date,kg\n2026-08-01,40\n2026-08-02,41\n2026-08-04,42\n", of="north")
    assert said.startswith("scale of north: 3 days from 2026-08-01 to 2026-08-04, read in kg; 1 day without a full reading")
