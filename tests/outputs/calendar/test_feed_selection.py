"""Which published entries a feed shows."""

from __future__ import annotations

from dataclasses import replace

import pytest

from scheduler.outputs.calendar.entries import entries
from scheduler.outputs.calendar.feed_selection import Selection, selected
from scheduler.outputs.calendar.publication import publish
from scheduler.outputs.calendar.uids import entry_uid, read_entry_uid
from scheduler.planning.plan import Link
from tests.outputs.plans import HOUR, at, plan, ridge, task

BEGIN = at("2026-08-11 10:30")


def test_a_feed_shows_its_part_of_what_was_published() -> None:
    """Events, to-dos and holds are published together; each feed takes its own."""
    everything = publish((*entries(ridge(), holds=True), *entries(ridge(), todos=True)), {}, BEGIN)
    events, todos, extracted = (selected(everything, wanted) for wanted in (Selection(), Selection(todos=True), Selection(streams=frozenset({"extracted"}))))
    assert {entry.uid for entry in entries(ridge())} == set(events)
    assert {entry.uid for entry in entries(ridge(), todos=True)} == set(todos)
    assert [read_entry_uid(name) for name in extracted] == [("2026-08-12/1", "sitting", "kestrel-bank")]
    assert len(selected(everything, Selection(holds=True))) == len(events) + 2


MIRA = replace(task("spin", BEGIN + HOUR), person="Mira, R; \\M", stream="extracted", place="honey room")
FEED = replace(task("feed", BEGIN + 2 * HOUR), stream="yard", place="apiary", links=(Link(MIRA.id),))
LOOK = replace(task("look", BEGIN + 3 * HOUR), stream="dry comb", place="apiary", links=(Link(FEED.id),))


@pytest.mark.parametrize(
    ("wanted", "shown"),
    [
        (Selection(todos=True), ["feed", "look", "spin"]),
        (Selection(todos=True, streams=frozenset({"extracted"})), ["spin"]),
        (Selection(todos=True, streams=frozenset({"dry comb"})), ["look"]),
        (Selection(todos=True, places=frozenset({"apiary"})), ["feed", "look"]),
        (Selection(todos=True, people=frozenset({"Mira, R; \\M"})), ["spin"]),
        (Selection(todos=True, people=frozenset({"keeper"}), streams=frozenset({"yard"})), ["feed"]),
        (Selection(todos=True, yards=frozenset({"kestrel-bank"})), ["feed", "look", "spin"]),
        (Selection(todos=True, yards=frozenset({"pelican-bend"})), []),
    ],
)
def test_a_feed_is_narrowed_by_stream_place_person_and_yard(wanted: Selection, shown: list[str]) -> None:
    """What nobody takes is the keeper's; signs that the format escapes are read as they were meant."""
    published = publish(entries(plan(MIRA, FEED, LOOK), todos=True), {}, BEGIN)
    found = selected({**published, "choir@example.org": published[next(iter(published))]}, wanted)
    assert sorted(named.task.rpartition("/")[2] for uid in found if (named := read_entry_uid(uid))) == shown
    assert len(found) == len(shown)


def test_what_is_hidden_is_not_waited_for() -> None:
    """And a relation to what is shown stays; what needs no change is the same object."""
    published = publish(entries(plan(MIRA, FEED, LOOK), todos=True), {}, BEGIN)
    apiary = selected(published, Selection(todos=True, places=frozenset({"apiary"})))
    feed, look = (apiary[entry_uid(one.id, "begin", "Kestrel Bank", todo=True)] for one in (FEED, LOOK))
    assert b"RELATED-TO" not in feed.content
    assert b"RELATED-TO" in look.content
    assert look is published[entry_uid(LOOK.id, "begin", "Kestrel Bank", todo=True)]
