"""What follows what in a rule set: its cards in their order, each with what it waits for, how long it holds, its limits and its hours.

A parameter stands with its value; what an expression comes to depends on the lot, so that it stands as it is written.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from typing import NamedTuple

from scheduler.diagnostics import Fault, instead
from scheduler.rules.expressions import underscored
from scheduler.rules.rule_set import LoadedCard, Rules, card_name
from scheduler.rules.short_forms import Anchor, CardRelation, Window

Told = Callable[[str], str]  # a text with the values of the parameters it names
_READ = re.compile(r"\$(?P<name>[a-z][a-z0-9 -]*[a-z0-9])|\bparam\.(?P<field>\w+)")


class CardInFlow(NamedTuple):
    """A card: how many others of its set come before it in a row, its name, for whom it is, and what is said of it, a line each."""

    depth: int
    name: str
    for_: tuple[str, ...]
    says: tuple[str, ...]


def flow(rules: Rules, name: str) -> list[CardInFlow]:
    """The cards of a set, each behind all it waits for. Raises `Fault` for a set that is not there."""
    if name not in rules.sets:
        raise Fault(f'no rule set is named "{name}"', instead(name, rules.sets))
    cards = {card.key: card for card in rules.cards if card.set == name}
    depths: dict[str, int] = {}

    def depth(key: str, trail: tuple[str, ...] = ()) -> int:
        if key not in depths:
            card = cards[key]
            before = {*card.after, *card.needs} & cards.keys() - {*trail, key}
            depths[key] = max((depth(one, (*trail, key)) + 1 for one in before), default=0)
        return depths[key]

    order = sorted(cards, key=lambda key: (depth(key), list(cards).index(key)))
    values = {parameter.name: parameter.text for parameter in rules.readable[name].values()}
    return [CardInFlow(depths[key], cards[key].name, cards[key].card.for_, tuple(_says(cards[key], values))) for key in order]


def _says(one: LoadedCard, values: Mapping[str, str]) -> Iterator[str]:
    card = one.card

    def told(text: str) -> str:
        return _with_values(text, values)

    if one.alongside:
        yield f"a line of the checklist of {card_name(one.alongside)}"
    if one.after:
        yield "after " + ", ".join(_related(key, relation, one.set, told) for key, relation in one.after.items())
    for way, key in (("only where", one.instead_of), ("beside", one.where_late)):
        if key:
            yield f"{way} {card_name(key)} {'cannot be' if way == 'only where' else 'where that is late'}"
    if one.with_:
        yield "only with " + ", ".join(map(card_name, one.with_))
    if card.when:
        yield f"where {told(card.when)}"
    for word, moments in (("not before", card.earliest), ("due", card.due), ("no later than", card.deadline)):
        yield from (f"{word} {_moment(moment, told)}" for moment in moments)
    if hold := card.hold:
        parts = (("", hold.estimate), ("at least ", hold.at_least), ("looked at after ", hold.look_at), ("waits for hands at most ", hold.wait_at_most))
        yield "holds: " + ", ".join(f"{lead}{told(text)}" for lead, text in parts if text)
    for word, windows in (("done", card.window), ("ended", card.end_window)):
        if windows:
            yield f"{word} " + ", or ".join(_hours(window, told) for window in windows)
    if card.repeat:
        times, until = card.repeat.times, card.repeat.until
        ends = (f"{told(times)} times" if times else "", f"until {_moment(until, told)}" if until else "")
        yield f"again every {told(card.repeat.every)}, {', '.join(filter(None, ends))}"
    if card.occupies:
        yield "takes " + ", ".join(f"{told(amount)} of the {kind}" for kind, amount in card.occupies.items())


def _related(key: str, relation: CardRelation, own: str, told: Told) -> str:
    name = card_name(key) if key.startswith(f"{own}/") else key
    lags = [f"{word} {told(text)}" for word, text in (("at least", relation.at_least), ("within", relation.within)) if text]
    wider = [f"of the whole {relation.across}"] if relation.across in ("harvest", "season") else []
    kind = [relation.relation] if relation.relation != "finish to start" else []
    return name + (f" ({', '.join([*kind, *lags, *wider])})" if kind or lags or wider else "")


def _moment(moment: Anchor, told: Told) -> str:
    of = "the pull" if moment.of == "pulled" else moment.of
    return f"{told(moment.plus)} after {of}" if moment.plus else f"{told(moment.minus)} before {of}" if moment.minus else of


def _hours(window: Window, told: Told) -> str:
    days = ("Mondays", "Tuesdays", "Wednesdays", "Thursdays", "Fridays", "Saturdays", "Sundays")
    parts = ["on " + ", ".join(days[day] for day in window.on)] if window.on else []
    if window.sun:
        parts.append(f"from {told(window.sun.from_)} to {told(window.sun.to)} about {window.sun.at}")
    if window.daylight:
        parts.append("in daylight")
    if window.clock:
        parts.append(f"between {window.clock.replace('-', ' and ')}")
    if window.season:
        parts += [f"{way} {span}" for way, span in (("inside", window.season.inside), ("outside", window.season.outside)) if span]
    if window.temperature:
        limits = window.temperature.model_dump(exclude_none=True)
        parts += [f"{name.replace('_', ' ')} {told(text)}" for name, text in limits.items()]
    return ", ".join(parts)


def _with_values(text: str, values: Mapping[str, str]) -> str:
    fields: dict[str, str] = {underscored(name): name for name in values}

    def valued(found: re.Match[str]) -> str:
        name = found["name"] or fields.get(found["field"], "")
        return f"{name} ({values[name]})" if name in values else found[0]

    return _READ.sub(valued, text)
