"""Whether what a yard file says fits the rules and the harvests: work that nobody knows, and a piece that fits no freezer, are slips of the pen."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any, get_args

from scheduler.diagnostics import Diagnostic, Fault, instead
from scheduler.estimates.callable_estimates import package_of
from scheduler.estimates.packing import package_volume
from scheduler.facts.harvest import COMB, Harvest, lot_path
from scheduler.facts.people import KEEPER
from scheduler.facts.yard import Yard
from scheduler.quantities import show
from scheduler.rules.rule_set import Rules
from scheduler.rules.schema import Place, Stream

ROOM = {"space", "volume"}  # keys of equipment that say the same


def packages_too_large(harvest: Harvest, yard: Yard, trade: Mapping[str, Any]) -> list[Diagnostic]:
    """Lots of comb of which not one packed piece fits the largest freezer of the yard, by the numbers of the `trade`.

    The place is the freezer's in the yard file.
    """
    freezers = {name: one.space for name, one in yard.freezers.items() if one.space is not None}
    if not freezers:
        return []
    largest = max(freezers, key=lambda name: freezers[name])
    faults = []
    for lot in harvest.lots:
        needed = package_volume(*lot.piece, lot.comb_thickness, package_of(lot.package, trade)) if lot.kind in COMB else 0.0
        if needed > freezers[largest]:
            holds, takes = (show(space, "space", yard.units) for space in (freezers[largest], needed))
            sizes = f"the {largest} holds {holds}, and one packed piece of {lot_path(harvest.harvest, lot.id)} takes {takes}"
            faults.append(
                yard.document.fault(("equipment", largest, "space"), f"equipment > {largest} > space: {sizes}", "the space inside the freezer, such as 90 L")
            )
    return faults


def work_known(yard: Yard, rules: Rules) -> Iterator[Diagnostic]:
    """Names of people that mean something else already, and what they take where no card, rule set, kind of lot or place is called so."""
    known = dict.fromkeys(
        [*get_args(Stream), *rules.products.known, *get_args(Place), *yard.apiaries, *(name for name, one in rules.sets.items() if one.cards)]
    )
    words = list(dict.fromkeys([*known, *(card.name for card in rules.cards), *(card.key for card in rules.cards), *rules.renamed]))
    for name, person in yard.people.items():
        if name in known:
            yield yard.document.fault(("people", name), f'people > {name}: "{name}" is a rule set, a stream or a place', "the name of a person", key=True)
        for i, word in enumerate(person.takes):
            if word not in words:
                told = f'people > {name} > takes: there is no card, rule set, stream or place "{word}"'
                yield yard.document.fault(("people", name, "takes", i), told, instead(word, words))


def misread_equipment(yard: Yard, rules: Rules) -> Iterator[Diagnostic]:
    """Equipment that is measured otherwise than the cards that occupy it: what it says it holds would be read by none of them."""
    measures = {kind: measure for one in rules.sets.values() for kind, measure in one.equipment.items()}
    for name, kind in yard.kinds.items():
        wanted, written = measures.get(kind), yard.equipment[name].measure
        if wanted is not None and written is not None and wanted != written and {wanted, written} != ROOM:
            told = f"equipment > {name} > {written}: no card counts a {kind} in {written}"
            yield yard.document.fault(("equipment", name, written), told, '"space: 90 L"' if wanted in ROOM else f'"{wanted}: 24"', key=True)


def known_word(what: str, word: str, known: Iterable[str]) -> None:
    """Raises `Fault` unless the word is among those known."""
    if word not in (words := list(known)):
        raise Fault(f'there is no {what} "{word}"', instead(word, words))


def known_apiary(name: str, apiaries: Iterable[str]) -> str:
    """An apiary of the yard by its name. Raises `Fault` for another."""
    known = list(apiaries)
    if name not in known:
        raise Fault(
            f'the yard file names no apiary "{name}"', instead(name, known) if known else "no --of: the yard has one season, or apiaries in the yard file"
        )
    return name


def known_person(name: str, people: Iterable[str]) -> None:
    """Raises `Fault` unless it is the keeper or one of the people of the yard."""
    known = [KEEPER, *people]
    if name not in known:
        raise Fault(f'"{name}" does not work in this yard', f"{instead(name, known)}; people are named in the yard file, each with hands and takes")
