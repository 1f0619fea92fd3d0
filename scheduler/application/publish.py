"""From the ledger to calendars: plan, render what changed, keep what was published, and select what one feed shows.

Everything is published together, events, holds and to-dos, so that an entry has one revision whichever feed shows it.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from hashlib import sha256
from typing import get_args

from scheduler.application.alert_ids import read_alert_key
from scheduler.application.ledger_view import LedgerView, keep_in_force, whole_view
from scheduler.application.yard_check import known_person, known_word
from scheduler.diagnostics import Fault, Refused
from scheduler.facts.fact import AlertAcknowledged, Recorded, YardSet, in_force
from scheduler.facts.people import KEEPER
from scheduler.facts.yard import read_yard
from scheduler.ledger.store import Ledger
from scheduler.outputs.calendar.entries import beyond, entries
from scheduler.outputs.calendar.entry import EntryCache
from scheduler.outputs.calendar.feed_selection import Selection, selected
from scheduler.outputs.calendar.publication import Published, completed, publish, steps_of
from scheduler.outputs.calendar.uids import alarm_uid, read_entry_uid, with_task, yard_slug
from scheduler.outputs.calendar.vcalendar import feed, last_modified, with_source, zone_and_year
from scheduler.outputs.wording.sentence import METRIC, in_words
from scheduler.planning.plan import Plan
from scheduler.planning.sittings import sittings
from scheduler.planning.task_ids import current
from scheduler.quantities import say
from scheduler.rules.schema import Place, Stream

_SWITCHES, _FILTERS = ("todos", "holds", "hands-on", "all"), ("yard", "stream", "place", "person")  # of a feed's address
KEPT_FEEDS = 8  # rendered feeds kept in memory
REMADE = say("entries made anew")


@dataclass(frozen=True, slots=True)
class Publication:
    """A view of the ledger with its plan, and the state of every entry after it was published.

    `remade` says that some of what was sent before could not be read: its entries were made anew.
    """

    view: LedgerView
    published: Mapping[str, Published]
    remade: bool = False
    far: frozenset[str] = frozenset()  # the UIDs of what lies beyond the horizon

    @property
    def plan(self) -> Plan:
        """The plan that was published."""
        return self.view.plan

    def calendar(self, selection: Selection) -> bytes:
        """
        One calendar file. The same state gives the same bytes. Raises `Fault` for a yard that was never published, and for a person or a place that this
        one never had.

        The feed of one who left stays, with nothing to do in it: refused, it would leave the last plan standing on their phone.
        """
        for person in sorted((selection.people or frozenset()) - {KEEPER, *self.view.yard.people}):
            if person not in _ever_named(self.view.recorded):
                known_person(person, self.view.yard.people)
        for place in sorted((selection.places or frozenset()) - {*get_args(Place), *self.view.yard.apiaries}):
            if place not in _ever_named(self.view.recorded):
                known_word("place", place, (*self.view.yard.apiaries, *get_args(Place)))
        if selection.yards is not None:
            here = {named.yard: named.yard for uid in self.published if (named := read_entry_uid(uid))} | {yard_slug(self.plan.yard): self.plan.yard}
            for yard in sorted(selection.yards - here.keys()):
                known_word("yard", yard, here.values())
        yard, shown = self.plan.yard, selected(self.published, selection, self.far)
        return b"".join(feed(shown, name=yard, yard=yard, part=selection.words, if_empty=zone_and_year(self.plan)))


def select(
    *,
    todos: bool = False,
    holds: bool = False,
    hands_only: bool = False,
    yards: Sequence[str] = (),
    streams: Sequence[str] = (),
    places: Sequence[str] = (),
    people: Sequence[str] = (),
    everything: bool = False,
) -> Selection:
    """A selection as a person writes it. Raises `Fault` for a stream that does not exist, and for what to-dos do not have."""
    for word in streams:
        known_word("stream", word, get_args(Stream))
    if todos and holds:
        raise Fault("a hold is nothing to do, so a list of to-dos shows none", "either to-dos or holds")
    of_yards, of_streams, at_places, of_people = (frozenset(words) or None for words in (map(yard_slug, yards), streams, places, people))
    return Selection(todos, holds, hands_only, of_yards, of_streams, at_places, of_people, everything)


def filtered(asked: Iterable[tuple[str, str]]) -> Selection:
    """The selection that the filters of a feed's address ask for. Raises `Fault` for one that there is not."""
    asked = list(asked)
    switched = {name for name, value in asked if value not in ("", "0", "no", "false")}
    unknown = [name for name, _ in asked if name not in (*_SWITCHES, *_FILTERS)]
    if unknown:
        known = "todos=1, holds=1, hands-on=1, all=1, yard=kestrel-bank, stream=cut+comb, place=apiary or person=keeper"
        raise Fault(f'"{unknown[0][:40]}" is no filter of a feed', known)
    yards, streams, places, people = ([value for name, value in asked if name == filter_] for filter_ in _FILTERS)
    return select(
        todos="todos" in switched,
        holds="holds" in switched,
        hands_only="hands-on" in switched,
        yards=yards,
        streams=streams,
        places=places,
        people=people,
        everything="all" in switched,
    )


def publish_plan(ledger: Ledger, now: int, cache: EntryCache | None = None) -> Publication:
    """Plan at `now` [epoch s], publish every entry, and write the state down. `cache` keeps entries between two calls."""
    view = whole_view(ledger, now)
    plan, renamed = view.plan, view.rules.renamed
    dismissed = acknowledged(view.recorded, view.yard.yard, renamed)
    laid, firsts = [frozenset[str]()], [0]

    def revise(before: dict[str, Published], first: int) -> dict[str, Published]:
        firsts.append(first)
        kept = _kept_names(before, renamed)
        evenings = sittings(plan.tasks, plan.timezone, steps_sent(before, plan.yard, renamed))
        laid.append(frozenset(_renamed(uid, kept) for uid in beyond(plan, evenings)))
        shown = (
            *entries(plan, holds=True, evenings=evenings, acknowledged=dismissed, cache=cache),
            *entries(plan, todos=True, acknowledged=dismissed, cache=cache),
        )
        entered = tuple(entry.with_former_ids(kept) for entry in shown) if kept else shown
        offered = {entry.uid for entry in entered}
        closed = {uid: completed(state, at, now) for uid, state in before.items() if uid not in offered and (at := _done_at(uid, view)) is not None}
        stepped = {key for one in evenings for key in (step.key for step in one.steps)}
        closed |= {uid: state for uid, state in before.items() if uid not in offered and _is_past(uid, state, stepped, view)}
        return publish(entered, {uid: state for uid, state in before.items() if uid not in closed}, now, first) | closed

    published = ledger.outgoing.publish(Published, revise)
    keep_in_force(ledger, view)
    return Publication(view, published, firsts[-1] > 0, laid[-1])


def _renamed(uid: str, kept: Mapping[str, str]) -> str:
    return with_task(uid, kept) if kept else uid


def steps_sent(before: Mapping[str, Published], yard: str, renamed: Mapping[str, str]) -> dict[str, tuple[str, ...]]:
    """The keys of the steps of each sitting that was sent and stands, by its id; tasks by what their cards are called now."""
    found = {}
    for uid, state in before.items():
        if state.gone_since is None and (named := read_entry_uid(uid)) and named.phase == "sitting" and named.yard == yard_slug(yard):
            keys = (key.rpartition(" ") for key in steps_of(state.content))
            found[named.task] = tuple(f"{current(task, renamed)} {phase}" for task, _, phase in keys)
    return found


def _is_past(uid: str, state: Published, stepped: Collection[str], view: LedgerView) -> bool:
    """Whether a sitting that was sent is over and stands for work that no rule plans any more: it stays as it is."""
    named = read_entry_uid(uid)
    if named is None or named.phase != "sitting" or state.gone_since is not None or named.yard != yard_slug(view.plan.yard):
        return False
    keys = [(current(task, view.rules.renamed), phase) for task, _, phase in (key.rpartition(" ") for key in steps_of(state.content))]
    happened = view.happened
    return bool(keys) and all(
        f"{task} {phase}" not in stepped and (task in happened.done or (phase.startswith("begin") and task in happened.begun)) for task, phase in keys
    )


def _kept_names(before: Mapping[str, Published], renamed: Mapping[str, str]) -> dict[str, str]:
    """From the present id of a task to the one that its entries went out under: a phone keeps them when a card is renamed."""
    sent = {named.task for uid, state in before.items() if state.gone_since is None and (named := read_entry_uid(uid))} if renamed else set[str]()
    return {now: task for task in sorted(sent) if (now := current(task, renamed)) != task and now not in sent}


def _ever_named(facts: Iterable[Recorded]) -> set[str]:
    """Everybody, and every apiary, that any yard file that was ever set names; one that an older program took and this one does not is passed over."""
    found: set[str] = set()
    for one in facts:
        if isinstance(one.fact, YardSet):
            with suppress(Refused):
                yard = read_yard(one.fact.text.encode(), one.fact.path)
                found.update(yard.people, yard.apiaries)
    return found


def _done_at(uid: str, view: LedgerView) -> int | None:
    """When the work of an entry was done [epoch s]: its task, or, of a task whose hold runs, its beginning. None where it is still to do."""
    named = read_entry_uid(uid)
    if named is None or named.yard != yard_slug(view.plan.yard) or not (".todo@" in uid or named.phase == "hold"):
        return None
    task, phase = current(named.task, view.rules.renamed), named.phase
    happened = view.happened
    if task in happened.done:
        return happened.done[task][1]
    return happened.begun.get(task) if phase.startswith("begin") and task not in happened.skipped else None


def acknowledged(facts: tuple[Recorded, ...], yard: str, renamed: Mapping[str, str]) -> dict[str, int]:
    """When each alarm was dismissed [epoch s], by its UID among the events and among the to-dos."""
    found: dict[str, int] = {}
    for one in in_force(facts):
        if isinstance(one.fact, AlertAcknowledged):
            task, number, _ = read_alert_key(one.fact.alert)
            for todo in (False, True):
                found[alarm_uid(current(task, renamed), number, yard, todo=todo)] = one.fact.occurred_at
    return found


@dataclass(frozen=True, slots=True)
class Rendered:
    """A feed's bytes and the hash of them, when the last of its entries changed [s since 1970], and what a file of it is called."""

    etag: str
    content: bytes
    modified: int | None
    file_name: str

    def fetched_from(self, address: str) -> bytes:
        """The same, which says where it is fetched from (SOURCE of RFC 7986)."""
        return with_source(self.content, address)


@dataclass
class Feeds:
    """The feeds of one ledger, for a process that lives long: planned anew when a fact was added or free hours
    begin or end, rendered once for each change. `say` gets what is worth a line in the log."""

    ledger: Ledger
    now: Callable[[], int]
    say: Callable[[str], None] = lambda _: None
    renders: int = 0
    _lock: threading.Lock = field(default_factory=threading.Lock)
    _entry_cache: EntryCache = field(default_factory=dict)
    _sent: Publication | None = None
    _position: int = -1
    _planned_at: int = 0
    _kept: dict[Selection, tuple[Publication, Rendered]] = field(default_factory=dict)

    def sent(self) -> Publication:
        """The newest publication. Raises `Refused` where nothing can be planned."""
        with self._lock:
            return self._current()

    def rendered(self, selection: Selection) -> Rendered:
        """The bytes of a feed; from memory where the entries are what they were."""
        with self._lock:
            sent = self._current()
            kept = self._kept.pop(selection, None)
            if kept is None or (kept[0] is not sent and (kept[0].far != sent.far or kept[0].published != sent.published)):
                content = sent.calendar(selection)
                self.renders += 1
                part = f"-{yard_slug(selection.words)}" if selection.words else ""
                changed, name = last_modified(selected(sent.published, selection, sent.far)), f"{yard_slug(sent.plan.yard)}{part}.ics"
                kept = sent, Rendered(sha256(content).hexdigest()[:32], content, changed, name)
            self._kept[selection] = kept
            while len(self._kept) > KEPT_FEEDS:
                del self._kept[next(iter(self._kept))]
            return kept[1]

    def _current(self) -> Publication:
        position, now = self.ledger.position(), self.now()
        if self._sent is None or position != self._position or not self._planned_at <= now < self._sent.view.as_of.until:
            self._sent = publish_plan(self.ledger, now, self._entry_cache)
            if self._sent.remade:
                self.say(in_words(REMADE, METRIC))
            self._position, self._planned_at = position, now
        return self._sent
