"""What is wrong in the kinds of product that sets bring, and in what cards and stops say they are for."""

from __future__ import annotations

from collections.abc import Iterator
from typing import get_args

from pydantic import ValidationError

from scheduler.diagnostics import Fault, instead
from scheduler.facts.harvest import Lot
from scheduler.rules.card_check import Loc
from scheduler.rules.findings import Finding, PlaceInSet, all_cards, all_stops
from scheduler.rules.rule_set import LoadedSet, Rules
from scheduler.rules.schema import Brought, Stream

TAKEN = (*get_args(Stream), "apiary")
OF_ONE_LOT = ("id", "kind", "settles_with")  # keys of a lot that say nothing of others
LONGEST = 40  # characters of a product's name, which stands in lists; assumed


def of_products(rules: Rules) -> Iterator[Finding]:
    """Every finding in what sets bring, and every kind of lot that nobody brings."""
    brought = [name for one in rules.sets.values() for name in one.brings]
    first: dict[str, str] = {}
    for one in rules.sets.values():
        for name, kind in one.brings.items():
            place = PlaceInSet(one.document, ("brings", name), f'product "{name}"')
            yield from (place.finding(loc, fault, key=not loc) for loc, fault in _of_product(rules, one, name, kind, first))
            first.setdefault(name, one.name)
    known = [*get_args(Stream), *brought]
    of_cards = ((PlaceInSet.of(one, "tasks", name), card.for_) for one, name, card in all_cards(rules))
    for place, for_ in (*of_cards, *((place, stop.for_) for _, place, stop in all_stops(rules))):
        for number, word in enumerate(for_):
            if word not in known:
                yield place.finding(("for", number), Fault(f'"{word}" is not known here', instead(word, known)))


def _of_product(rules: Rules, one: LoadedSet, name: str, kind: Brought, first: dict[str, str]) -> Iterator[tuple[Loc, Fault]]:
    """What is wrong in one product, each with its place below it."""
    if name in TAKEN or name in first:
        told = f'"{name}" is brought by "{first[name]}" already' if name in first else f'"{name}" is known without it'
        yield (), Fault(told, "a name that no other kind of lot has")
    if not name.strip() or len(name) > LONGEST or any(character in name for character in "/\n\t"):
        yield (), Fault(f'"{name[:LONGEST]}" cannot be the name of a product', f"a few words, at most {LONGEST} characters, without a slash")
    otherwise: list[tuple[Loc, str]] = [
        *((("without", number), card) for number, card in enumerate(kind.without)),
        *((("instead", card), card) for card in kind.instead),
    ]
    for loc, card in otherwise:
        try:
            for_ = _is_for(rules, one, card)
        except Fault as fault:
            if not rules.is_left_out(card):
                yield loc, fault
            continue
        if kind.like not in for_:
            yield loc, Fault(f'"{card}" is for {" and ".join(for_)}, and for no lot of {kind.like}', f"a card for {kind.like}, or none here")
    for card, own in kind.instead.items():
        try:
            for_ = _is_for(rules, one, own)
        except Fault as fault:
            if not rules.is_left_out(own):
                yield ("instead", card), fault
            continue
        if name not in for_:
            yield ("instead", card), Fault(f'"{own}" is not for {name}, and so stands in for nothing', f'"for: {name}" on that card')
    yield from ((("usual", *loc), fault) for loc, fault in _unusual(kind))


def _is_for(rules: Rules, one: LoadedSet, name: str) -> tuple[str, ...]:
    """What the card of a name is for, whatever is wrong in others. Raises `Fault` where there is none."""
    of, _, card = rules.resolve(one.name, name).rpartition("/")
    return rules.sets[of].cards[card].for_


def _unusual(kind: Brought) -> Iterator[tuple[Loc, Fault]]:
    """What cannot be usual of a lot."""
    usual = [field.alias or name for name, field in Lot.model_fields.items() if name not in OF_ONE_LOT]
    for key in kind.usual:
        if key not in usual:
            yield (key,), Fault(f'no lot has "{key}" as a rule', instead(key, usual))
    try:
        Lot.model_validate(
            {"id": "a", "frames": 1, "frame": "medium"} | {key: value for key, value in kind.usual.items() if key in usual} | {"kind": kind.like}
        )
    except ValidationError as error:
        for wrong in error.errors(include_url=False):
            cause = wrong.get("ctx", {}).get("error")
            yield tuple(wrong["loc"]), cause if isinstance(cause, Fault) else Fault(f"{wrong['msg']} (written: {wrong['input']})", "it as in a harvest file")
