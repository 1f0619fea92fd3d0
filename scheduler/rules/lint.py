"""Everything that is wrong in rule sets, all at once and each with its place, before anything is planned with them."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Mapping

from scheduler.diagnostics import Diagnostic, Fault, Refused, instead, nearest
from scheduler.facts.days import day_named
from scheduler.rules import amounts
from scheduler.rules.card_check import CardCheck, Loc, marked
from scheduler.rules.expressions import underscored
from scheduler.rules.findings import Finding, PlaceInSet, all_cards, all_stops
from scheduler.rules.parameter import si_value
from scheduler.rules.plausible import not_meant
from scheduler.rules.product_check import of_products
from scheduler.rules.rule_set import LoadedCard, LoadedSet, Rules, card_name, suggestion
from scheduler.rules.schema import Card, Stop
from scheduler.rules.short_forms import ANCHORS, Anchor
from scheduler.rules.templates import without_expressions
from scheduler.rules.unlikely import unlikely
from scheduler.rules.unread import reckoned_unread
from scheduler.rules.vocabulary import NAMES

BRIEF = 60  # characters of a caution that a phone shows at a step; DESIGN
_CLOCK = re.compile(r"^\s*([01]\d|2[0-3]):[0-5]\d\s*-\s*([01]\d|2[0-4]):[0-5]\d\s*$")


def lint(rules: Rules, of_yard: Collection[str] = ()) -> list[Finding]:
    """Every finding in the sets in force, in order of place; `of_yard` are the kinds of equipment that the yard has.

    A check that builds on another waits until that one passes.
    """
    parameters, references = {*_parameters(rules)}, {*_references(rules), *_former(rules)}
    found = parameters | references | {*of_products(rules), *_shapes(rules), *_sources(rules), *_scenarios(rules)}
    found |= {Finding(old, advice=True) for old in rules.old_words}
    if not parameters:
        found |= {*_texts(rules), *unlikely(rules, of_yard)}
    if not references:
        found |= {*_cycles(rules, "after"), *_cycles(rules, "needs")}
    wrong = {(one.diagnostic.path, one.diagnostic.line) for one in found if not one.advice}
    return sorted(one for one in found if not one.old_word or (one.diagnostic.path, one.diagnostic.line) not in wrong)  # what is wrong is written anew anyhow


def _parameters(rules: Rules) -> Iterator[Finding]:
    for one in rules.sets.values():
        for name, parameter in one.parameters.items():
            try:
                wrong = not_meant(parameter, *si_value(parameter))
            except Fault as fault:
                wrong = fault
            if wrong:
                yield PlaceInSet.of(one, "parameters", name).finding(("value",), wrong)


def _references(rules: Rules) -> Iterator[Finding]:
    for one, name, card in all_cards(rules):
        place = PlaceInSet.of(one, "tasks", name)
        if "/" in name:
            yield place.finding((), Fault('a card\'s name may not hold "/"', "another name"), key=True)
        for loc, other in _named(card):
            if rules.is_left_out(other):
                if loc[0] != "after":
                    yield _gone(rules, place, loc, other) if card_name(other) in rules.gone else _needs_left_out(rules, one, name, other)
                continue
            if (short := card_name(other)) in rules.renamed:
                line, column = place.document.place((*place.at, *loc), key=loc[0] == "after")
                message = f'the card "{short}" is called "{rules.renamed[short]}" now'
                yield Finding(Diagnostic(place.document.path, line, column, message, f'"{rules.renamed[short]}"'), advice=True)
            try:
                rules.resolve(one.name, other)
            except Fault as fault:
                yield place.finding(loc, fault, key=loc[0] == "after")


def _former(rules: Rules) -> Iterator[Finding]:
    """A name that a card had before is its alone: no card has it now, and no other had it."""
    claimed: dict[str, str] = {}
    fault: Fault | None
    living = {name: one.name for one, name, _ in all_cards(rules)}
    for one, name, card in all_cards(rules):
        for number, old in enumerate(card.formerly):
            if old in living:
                fault = Fault(f'"{old}" is a card of "{living[old]}", and what was recorded of it is its own', "a name that no card has")
            else:
                fault = Fault(f'"{old}" is claimed by the card "{claimed[old]}" too', "it under the one card that took its place") if old in claimed else None
            if fault:
                yield PlaceInSet.of(one, "tasks", name).finding(("formerly", number), fault)
            claimed.setdefault(old, name)


def _needs_left_out(rules: Rules, one: LoadedSet, name: str, other: str) -> Finding:
    """A card that cannot be without one that a change leaves out, told at the change."""
    short = card_name(other)
    document, at, _ = next(of.left_out[short] for of in rules.sets.values() if short in of.left_out)
    message = f'"{short}" is left out here, and the card "{name}" of "{one.name}" hangs on it'
    return Finding(document.fault(at, message, f'"{name}" under "without:" too'))


def _gone(rules: Rules, place: PlaceInSet, loc: Loc, other: str) -> Finding:
    """A card that cannot be without one that the bundle no longer has."""
    short = card_name(other)
    return place.finding(loc, Fault(f'there is no card "{short}" any more', next(of.no_longer[short] for of in rules.sets.values() if short in of.no_longer)))


def _shapes(rules: Rules) -> Iterator[Finding]:
    cautions = [name for one in rules.sets.values() for name in one.cautions]
    names = {name for _, name, _ in all_cards(rules)}
    for one, name, card in all_cards(rules):
        place = PlaceInSet.of(one, "tasks", name)
        for number, caution in enumerate(card.caution):
            if caution not in cautions:
                yield place.finding(("caution", number), Fault(f'no caution is named "{caution}"', _caution(caution, cautions)))
        for loc, fault in _shape(card, names):
            yield place.finding(loc, fault)
    for _, place, stop in all_stops(rules):
        for number, caution in enumerate(stop.caution):
            if caution not in cautions:
                yield place.finding(("caution", number), Fault(f'no caution is named "{caution}"', _caution(caution, cautions)))


def _caution(named: str, cautions: Collection[str]) -> str:
    """What to write for a caution that nobody has: the nearest, or one of one's own."""
    if " " in named and not nearest(named, cautions):
        return f'a name of its own here, and under "cautions:" NAME: {{say: "{named}"}}'
    return suggestion(named, cautions)


def _named(card: Card) -> Iterator[tuple[Loc, str]]:
    """The other cards a card names, and where."""
    yield from ((("after", name), name) for name in card.after)
    yield from ((("with", number), name) for number, name in enumerate(card.with_))
    if card.instead_of:
        yield ("instead of",), card.instead_of
    if card.where_late:
        yield ("where late",), card.where_late
    if card.batches and card.batches.as_:
        yield ("batches", "as"), card.batches.as_
    if card.alongside:
        yield ("alongside",), card.alongside


def _moment(anchor: Anchor, cards: Collection[str]) -> str:
    """What to write for a moment that nobody knows; what another card is meant by is said under "after"."""
    if anchor.of not in cards:
        return instead(anchor.of, ANCHORS)
    return f'"after: {{{anchor.of}: {{at least: {anchor.plus or "12 h"}}}}}", or "within" for the latest: a card is no moment'


def _shape(card: Card, cards: Collection[str]) -> Iterator[tuple[Loc, Fault]]:
    """What the fields of one card say against each other or to nobody."""
    for loc, anchor in _anchors(card):
        if anchor.of not in ANCHORS and day_named(anchor.of) is None:
            yield loc, Fault(f'no moment is named "{anchor.of}"', _moment(anchor, cards))
    for key, windows in (("window", card.window), ("end window", card.end_window)):
        for number, window in enumerate(windows):
            if window.clock is not None and not _CLOCK.match(window.clock):
                yield (key, number, "clock"), Fault(f'"{window.clock}" is not a stretch of the clock', '"05:00-10:00"')
    if card.batches and card.batches.fits and card.batches.fits not in card.occupies:
        cure = f'"occupies: {{{card.batches.fits}: the batch\'s volume}}"'
        yield ("batches", "fits"), Fault(f"batches are to fit the {card.batches.fits}, which this card does not occupy", cure)
    for number, alert in enumerate(card.alerts):
        if alert.at == "hold done" and card.hold is None:
            yield ("alerts", number, "at"), Fault("this card has no hold that could be done", '"at: finish", or a hold')
        if alert.at == "due" and not (card.due or card.deadline):
            yield ("alerts", number, "at"), Fault("this card is never due", '"at: start", or "due: pulled + 7 d"')


def _anchors(card: Card) -> Iterator[tuple[Loc, Anchor]]:
    for key in ("earliest", "due", "deadline"):
        yield from (((key, number), anchor) for number, anchor in enumerate(getattr(card, key)))
    if card.repeat and card.repeat.until:
        yield ("repeat", "until"), card.repeat.until


def _sources(rules: Rules) -> Iterator[Finding]:
    known = {name for one in rules.sets.values() for name in one.sources}
    for one in rules.sets.values():
        for name, source in one.sources.items():
            if not (source.where.strip() and source.title.strip() and source.by.strip()):
                message = f'source "{name}" does not say by whom, under which title and where in it'
                yield Finding(one.document.fault(("sources", name), message, '"where: table 2, p. 14"'))
        for name, parameter in one.parameters.items():
            yield from _unknown(PlaceInSet.of(one, "parameters", name), parameter.source, known)
        for name, card in one.cards.items():
            yield from _unknown(PlaceInSet.of(one, "tasks", name), card.source, known)
        for name, caution in one.cautions.items():
            place = PlaceInSet(one.document, ("cautions", name), f'caution "{name}"')
            yield from _unknown(place, caution.source, known)
            try:
                without_expressions(caution.say)
            except Fault as fault:
                yield place.finding(("say",), fault)
            if len(caution.brief) > BRIEF:
                yield place.finding(("brief",), Fault(f"{len(caution.brief)} characters, and a phone shows {BRIEF} of a step's caution", "fewer words"))


def _unknown(place: PlaceInSet, named: Iterable[str], known: Iterable[str]) -> Iterator[Finding]:
    for number, source in enumerate(named):
        if source not in known:
            yield place.finding(("source", number), Fault(f'no source is named "{source}"', f'"{source}" under "sources:", with by, title and where'))


def _scenarios(rules: Rules) -> Iterator[Finding]:
    try:
        scenarios = rules.scenarios
    except Refused as refused:
        yield from (Finding(diagnostic) for diagnostic in refused.diagnostics)
        return
    numbers: dict[str, int] = {}
    for loaded in scenarios:
        number = numbers[loaded.set] = numbers.get(loaded.set, -1) + 1
        place = PlaceInSet(rules.sets[loaded.set].document, ("scenarios", number), f'scenario "{loaded.scenario.name}"')
        for name in loaded.scenario.expect:
            try:
                rules.resolve(loaded.set, name)
            except Fault as fault:
                if not rules.is_left_out(name):
                    yield place.finding(("expect", name), fault, key=True)


def _texts(rules: Rules) -> Iterator[Finding]:
    """Amounts, conditions and words; then the parameters that none of them reads."""
    used: dict[str, set[str]] = {name: set() for name in rules.sets}
    for one, name, card in all_cards(rules):
        place, check = PlaceInSet.of(one, "tasks", name), CardCheck.of(card, rules.readable[one.name], rules.values[one.name])
        faults = _faults(card, check)
        yield from (place.finding(loc, fault) for loc, fault in (faults or _limits(card, check)))
        wrong = {loc for loc, _ in faults}
        for old, loc in ((old, text.loc) for text in marked(card) if text.loc not in wrong for old in check.old_ways(text)):
            diagnostic = place.finding(loc, old).diagnostic
            yield Finding(diagnostic._replace(message=diagnostic.message.partition("\n")[0]), advice=True, old_word=True)
        used[one.name] |= check.used
    for one, place, stop in all_stops(rules):
        check = CardCheck.of(stop, rules.readable[one.name], rules.values[one.name])
        yield from (place.finding(loc, fault) for loc, fault in _faults(stop, check))
        used[one.name] |= check.used
    for one in rules.sets.values():
        for name in one.parameters:
            read = any(underscored(name) in found and rules.readable[of][name] is rules.parameters[one.name][name] for of, found in used.items())
            if not read and underscored(name) not in NAMES["trade"] and not any(name in row.values() for row in one.treatments.values()):
                place = PlaceInSet.of(one, "parameters", name)
                yield Finding(place.finding((), Fault("no card uses it"), key=True).diagnostic, advice=True)


def _faults(of: Card | Stop, check: CardCheck) -> list[tuple[Loc, Fault]]:
    """The texts of a card or a stop that cannot be worked out; where all can, those that cannot while something is not known."""
    found: list[tuple[Loc, Fault]] = []
    for text in marked(of):
        try:
            check.check(text)
        except Fault as fault:
            found.append((text.loc, fault))
    return found or [*reckoned_unread(of, check)]


def _limits(card: Card, check: CardCheck) -> Iterator[tuple[Loc, Fault]]:
    """Floors above ceilings, where both are numbers or parameters."""
    pairs: list[tuple[Loc, str, str, str | None, str | None]] = [
        (("after", name), "at least", "within", relation.at_least, relation.within) for name, relation in card.after.items()
    ]
    if card.hold:
        pairs.append((("hold",), "at least", "look at", card.hold.at_least, card.hold.look_at))
    for loc, low, high, least, most in pairs:
        if least and most and "expression" not in (amounts.kind_of(least, check.parameters), amounts.kind_of(most, check.parameters)):
            floor, ceiling = (amounts.amount(text, "duration", check.env).value for text in (least, most))
            if floor > ceiling:
                yield (*loc, low), Fault(f'"{low}" ({least}) lies above "{high}" ({most})', f'"{low}" no longer than "{high}"')


def _cycles(rules: Rules, relation: str) -> Iterator[Finding]:
    """Cards that wait for each other in a ring, each ring once."""
    follows: Mapping[str, tuple[str, ...]] = {card.key: tuple(card.after) if relation == "after" else card.needs for card in rules.cards}
    done: set[str] = set()
    for key in follows:
        for ring in _rings(key, follows, done, []):
            first = next((at for at, one in enumerate(ring) if _changed(rules, rules.by_key[one])), 0)  # a ring is told where a change closes it
            yield _ring(rules, rules.by_key[ring[first]], [*ring[first:], *ring[:first]], relation)


def _changed(rules: Rules, card: LoadedCard) -> bool:
    """Whether a card was last written elsewhere than in its set."""
    one = rules.sets[card.set]
    return one.place("tasks", card.name)[0] is not one.document


def _rings(key: str, follows: Mapping[str, tuple[str, ...]], done: set[str], trail: list[str]) -> Iterator[list[str]]:
    if key in trail:
        yield trail[trail.index(key) :]
        return
    if key in done:
        return
    trail.append(key)
    for other in follows[key]:
        yield from _rings(other, follows, done, trail)
    trail.pop()
    done.add(key)


def _ring(rules: Rules, card: LoadedCard, ring: list[str], relation: str) -> Finding:
    one = rules.sets[card.set]
    place = PlaceInSet.of(one, "tasks", card.name)
    names = [rules.by_key[key].name for key in (*ring, ring[0])]
    words = " after " if relation == "after" else " needs "
    written = next((name for name in card.card.after if rules.resolve(card.set, name) == ring[1 % len(ring)]), None) if relation == "after" else None
    loc: Loc = ("after", written) if written else ()
    return place.finding(loc, Fault(f"a ring that never starts: {words.join(names)}", "one of them without the other"), key=True)
