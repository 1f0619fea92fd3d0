"""The ledger as a place: what is appended is there, in order, for ever; the same on SQLite and on PostgreSQL."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import text

from scheduler.diagnostics import Fault, Refused
from scheduler.facts.fact import Reading, Recorded, Retracted, in_force
from scheduler.ledger.store import Ledger
from tests.chance import times
from tests.facts.recorded import CUT, HARVEST, HOUR, MOISTURE, PULLED, SEASON, tasks_done
from tests.stores import connections_of

NOW = PULLED + 100 * HOUR


def test_what_was_told_is_there_after_opening_the_ledger_again(where: str) -> None:
    """Every kind of fact comes back whole, with when it was written down, in the order of writing."""
    with Ledger.open(where) as ledger:
        given = ledger.append(SEASON, NOW)
    with Ledger.open(where) as ledger:
        assert ledger.facts() == given
    assert [one.fact for one in given] == list(SEASON)
    assert {one.recorded_at for one in given} == {NOW}


def test_whoever_follows_the_ledger_sees_its_position_move(ledger: Ledger) -> None:
    """From nothing to the sequence of the last fact."""
    assert ledger.position() == 0
    ledger.append([HARVEST, CUT], NOW)
    (last,) = ledger.append([MOISTURE], NOW + 1)
    assert ledger.position() == last.sequence


def test_a_batch_is_written_whole_or_not_at_all(ledger: Ledger) -> None:
    """A harvest whose last fact is bad leaves no half of it behind."""
    with pytest.raises(Fault, match=r"there is no fact 0{32} to replace"):
        ledger.append([HARVEST, CUT, Retracted(occurred_at=NOW, replaces="0" * 32)], NOW)
    assert ledger.facts() == ()
    assert ledger.append([], NOW) == ()


def test_a_correction_names_the_fact_it_replaces(ledger: Ledger) -> None:
    """The first reading stays on record; the second one counts."""
    (first,) = ledger.append([MOISTURE], NOW)
    drier = Reading(occurred_at=MOISTURE.occurred_at, of="ridge-2/a", what="moisture", value=0.169, replaces=first.id)
    (second,) = ledger.append([drier], NOW + 1)
    assert ledger.facts() == (first, second)
    assert in_force(ledger.facts()) == (second,)


@pytest.mark.parametrize("deed", ["UPDATE facts SET body = '{}'", "DELETE FROM facts"])
def test_the_store_itself_refuses_to_change_a_fact(ledger: Ledger, deed: str) -> None:
    """Not even a statement of SQL edits history."""
    before = ledger.append([HARVEST, CUT], NOW)
    with pytest.raises(Refused, match="facts are never changed or removed"), connections_of(ledger).writing() as connection:
        connection.execute(text(deed))
    assert ledger.facts() == before


def undo(ledger: Ledger, now: int) -> Recorded | None:
    """Take back the fact written last of those that stand."""
    last = max(in_force(ledger.facts()), key=lambda one: one.sequence, default=None)
    if last is not None:
        ledger.append([Retracted(occurred_at=now, replaces=last.id)], now)
    return last


def test_undo_walks_back_one_fact_at_a_time(ledger: Ledger) -> None:
    """The last thing told goes first, also when it happened earlier; with nothing left there is nothing to undo."""
    ledger.append([CUT], NOW)
    ledger.append([MOISTURE], NOW + 1)
    undone = [undo(ledger, NOW + 2), undo(ledger, NOW + 3)]
    assert [one.fact for one in undone if one] == [MOISTURE, CUT]
    assert undo(ledger, NOW + 4) is None
    assert in_force(ledger.facts()) == ()
    assert len(ledger.facts()) == 4


def test_undo_of_a_correction_brings_the_first_telling_back(ledger: Ledger) -> None:
    """The value before the correction counts again."""
    (first,) = ledger.append([MOISTURE], NOW)
    ledger.append([MOISTURE.model_copy(update={"value": 0.169, "replaces": first.id})], NOW + 1)
    undo(ledger, NOW + 2)
    assert in_force(ledger.facts()) == (first,)


@settings(deadline=None, max_examples=times(500), suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(before=st.lists(tasks_done(), max_size=5), last=tasks_done())
def test_undo_leaves_what_stands_as_it_was_to_the_byte(tmp_path_factory: pytest.TempPathFactory, before: list[Any], last: Any) -> None:
    """What stands after telling and undoing is what stood before."""
    with Ledger.open(tmp_path_factory.mktemp("undo") / "ledger.sqlite") as ledger:
        ledger.append(before, NOW)
        stood = repr(in_force(ledger.facts()))
        ledger.append([last], NOW)
        undo(ledger, NOW)
        assert repr(in_force(ledger.facts())) == stood
