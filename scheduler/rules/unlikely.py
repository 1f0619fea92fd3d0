"""What no author of rules means, in any card that is in force; `plausible` looks at one card, this at what it says beside the others."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from contextlib import suppress
from datetime import date, timedelta

from scheduler.diagnostics import Fault
from scheduler.rules.card_check import CardCheck
from scheduler.rules.findings import Finding, PlaceInSet, all_cards
from scheduler.rules.plausible import implausible, slip_of
from scheduler.rules.rule_set import LoadedSet, Rules
from scheduler.rules.schema import HIVE, TITLE, Card
from scheduler.rules.templates import render


def _taken_cautions(rules: Rules) -> Iterator[Finding]:
    """A caution of the bundle that a keeper's file writes otherwise: it may be added to, never replaced."""
    bundled = {name: one.name for one in rules.sets.values() if one.bundled for name in one.cautions}
    for one in rules.sets.values():
        for name in () if one.bundled else one.cautions:
            if name in bundled:
                told = Fault(f'"{name}" is a caution of "{bundled[name]}", which no file replaces', "another name, and both on the card")
                yield PlaceInSet(one.document, ("cautions", name), f'caution "{name}"').finding((), told, key=True)


def _unprotected(rules: Rules) -> Iterator[Finding]:
    """A card that protects food and is left out: the keeper may, and is told."""
    for one in rules.sets.values():
        for name, (document, at, card) in one.left_out.items():
            if card.loss == "food safety" or card.told_singly or "food freezer" in card.brings_to:
                message = f'"{name}" of "{one.name}" protects food or gives a reading, and nothing asks for it any more'
                yield Finding(document.fault(at, message, "the card, unless you do the same in another way"), advice=True)


def _on_a_phone(rules: Rules) -> Iterator[Finding]:
    """A title that a phone cuts off, with the sample lot in it."""
    for one, name, card in all_cards(rules):
        with suppress(Fault):  # told where texts are checked
            title = render(card.title, CardCheck.of(card, rules.readable[one.name], rules.values[one.name]).env)
            if len(title) > TITLE:
                told = Fault(f'"{title}" has {len(title)} characters, and a phone shows {TITLE}', 'verb and count alone; the rest stands under "how"')
                yield Finding(PlaceInSet.of(one, "tasks", name).finding(("title",), told).diagnostic, advice=True)


def _of_its_own(place: PlaceInSet, card: Card, kinds: Collection[str]) -> Iterator[Finding]:
    """Equipment that nobody has, nor is like any: no rule set declares it and the yard has none."""
    for kind in card.occupies:
        if kind not in kinds and not slip_of(kind, kinds):
            cure = f'one of {", ".join(sorted(kinds))}; or, where you have one, "equipment: {{{kind}: pieces}}" at the head of this file'
            yield place.finding(("occupies", kind), Fault(f'no equipment is called "{kind}", so that there would always be room in it', cure), key=True)


def unlikely(rules: Rules, of_yard: Collection[str] = ()) -> Iterator[Finding]:
    """What is well formed and cannot be meant; `of_yard` are the kinds of equipment that the yard has."""
    yield from _unprotected(rules)
    yield from _on_a_phone(rules)
    yield from _taken_cautions(rules)
    kinds = {*of_yard, *(kind for one in rules.sets.values() for kind in one.equipment)}
    for one, name, card in all_cards(rules):
        yield from _of_its_own(PlaceInSet.of(one, "tasks", name), card, kinds)
        yield from (PlaceInSet.of(one, "tasks", name).finding(loc, fault) for loc, fault in implausible(card, rules.values[one.name], kinds))
        yield from _never_waits(rules, one, name, card)


def checked_ahead(rules: Rules, today: date) -> Iterator[Finding]:
    """A number that was last looked up on a day still to come; tomorrow is today somewhere."""
    for one in rules.sets.values():
        for name, parameter in () if one.bundled else one.parameters.items():
            if parameter.checked > today + timedelta(days=1):
                told = Fault(f"{parameter.checked} is still to come", f"the day on which somebody looked it up: {today}")
                yield Finding(PlaceInSet.of(one, "parameters", name).finding(("checked",), told).diagnostic, advice=True)


def _never_waits(rules: Rules, one: LoadedSet, name: str, card: Card) -> Iterator[Finding]:
    """A card of one kind of lot after one of another: no lot is both, so that it would wait for nothing."""
    known = rules.products.known
    of_lots = {stream for stream in card.for_ if stream not in ("harvest", "yard", HIVE)}
    meant = {*card.for_, *(known[product].like for product in of_lots if product in known)}
    for other, relation in card.after.items():
        try:
            before = rules.by_key[rules.resolve(one.name, other)].card
        except (Fault, KeyError):
            continue  # told where names are checked
        if relation.across is None and len(of_lots) == len(card.for_) and not {*meant, "harvest", "yard", HIVE} & {*before.for_}:
            message = f'"{other}" is of {" and ".join(before.for_)}, and no lot of {" or ".join(card.for_)} is that too: this card would never wait for it'
            fault = Fault(message, f'"{other}: {{across: harvest}}", for every lot of the same pull')
            yield PlaceInSet.of(one, "tasks", name).finding(("after", other), fault, key=True)
