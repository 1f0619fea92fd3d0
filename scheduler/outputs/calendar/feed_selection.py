"""Which published entries one feed shows: events or to-dos, with or without holds, of some yards, streams, places or people.

The selection reads the published bytes alone, so that cancelled and completed entries are found too: their categories are stream, place and,
where it is not the keeper's work, person.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from itertools import takewhile
from typing import get_args

from scheduler.facts.people import KEEPER
from scheduler.outputs.calendar.publication import Published
from scheduler.outputs.calendar.uids import read_entry_uid
from scheduler.rules.schema import Place, Stream

_NO_HANDS = ("over", "limit", "hold")
_STREAMS, _PLACES = frozenset(get_args(Stream)), frozenset(get_args(Place))
_CATEGORIES = re.compile(rb"\r\nCATEGORIES:((?:[^\r]|\r\n[ \t])*)")
_RELATED = re.compile(rb"\r\nRELATED-TO(?:;[^:\r]*(?:\r\n[ \t][^:\r]*)*)?:((?:[^\r]|\r\n[ \t])*)")
_FOLD = re.compile(rb"\r\n[ \t]")
_WORD = re.compile(r"(?:[^\\,]|\\.)+")
_ESCAPED = re.compile(r"\\(.)")


@dataclass(frozen=True, slots=True)
class Selection:
    """Events or to-dos; holds, as events that take no busy time; only what asks for hands; only these yards (as UIDs name them), streams,
    places and people (any where None)."""

    todos: bool = False
    holds: bool = False
    hands_only: bool = False
    yards: frozenset[str] | None = None
    streams: frozenset[str] | None = None
    places: frozenset[str] | None = None
    people: frozenset[str] | None = None
    everything: bool = False  # also what lies beyond the horizon

    @property
    def words(self) -> str:
        """Which part of the work it shows; nothing where it shows all of it."""
        switched = [
            word for word, on in (("to-dos", self.todos), ("with holds", self.holds), ("hands-on", self.hands_only), ("everything", self.everything)) if on
        ]
        return ", ".join([*(word for chosen in (self.people, self.places, self.streams) for word in sorted(chosen or ())), *switched])

    @property
    def filters_tasks(self) -> bool:
        """Whether it may hide an entry that one it shows waits for."""
        return self.hands_only or self.streams is not None or self.places is not None or self.people is not None


def selected(published: Mapping[str, Published], selection: Selection, far: Collection[str] = ()) -> dict[str, Published]:
    """
    The published entries that a selection shows. Foreign UIDs are left out, and so are relations to entries that it hides.

    `far` are the UIDs of what lies beyond the horizon, which is shown only where everything is asked for.
    """
    hidden = () if selection.everything else far
    shown = {uid: state for uid, state in published.items() if uid not in hidden and _shown(uid, state.content, selection)}
    return {uid: _without_hidden_relations(state, shown) for uid, state in shown.items()} if selection.filters_tasks or hidden else shown


def _shown(uid: str, content: bytes, selection: Selection) -> bool:
    named = read_entry_uid(uid)
    if named is None or (content.startswith(b"BEGIN:VTODO") != selection.todos) or (named.phase == "hold" and not selection.holds):
        return False
    if selection.yards is not None and named.yard not in selection.yards:
        return False
    if not selection.filters_tasks:
        return True
    if selection.hands_only and named.phase in _NO_HANDS:
        return False
    asked = selection.streams, selection.places, selection.people
    return all(one is None or not one.isdisjoint(words) for one, words in zip(asked, _categories(content), strict=True))


def _categories(content: bytes) -> tuple[set[str], set[str], set[str]]:
    """Streams, places and person of an entry, which stand in this order."""
    line = _CATEGORIES.search(content)
    words = [_ESCAPED.sub(r"\1", word) for word in _WORD.findall(_plain(line[1]))] if line else []
    streams = list(takewhile(_STREAMS.__contains__, words))
    rest = words[len(streams) :]
    last = max((number for number, word in enumerate(rest, 1) if word in _PLACES), default=0)  # apiaries with a name stand before the word for all of them
    return set(streams), set(rest[:last]), set(rest[last:] or [KEEPER])


def _without_hidden_relations(state: Published, shown: Collection[str]) -> Published:
    content = _RELATED.sub(lambda line: line[0] if _ESCAPED.sub(r"\1", _plain(line[1])) in shown else b"", state.content)
    return state if content == state.content else state._replace(content=content)


def _plain(value: bytes) -> str:
    return _FOLD.sub(b"", value).decode()
