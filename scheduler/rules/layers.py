"""Layers over rule sets: what an overlay, a keeper's file or a yard changes in a set, each change checked where it is written."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from functools import reduce
from operator import getitem
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from scheduler.diagnostics import Diagnostic, Fault, Refused
from scheduler.documents import Document, faults_of
from scheduler.quantities import parse, with_article
from scheduler.rules.expressions import underscored
from scheduler.rules.parameter import Parameter, in_words, si_value
from scheduler.rules.rule_set import LeftOut, LoadedSet, suggestion
from scheduler.rules.schema import Card, RuleSet, SetChange
from scheduler.rules.vocabulary import NAMES

SAFE_END = "may be made"
MAY_BE_NONE = ("temperature", "temperature difference")  # what may be zero, or less
Loc = tuple[str | int, ...]
M = TypeVar("M", bound=BaseModel)


def checked(document: Document, *, bundled: bool = False) -> LoadedSet:
    """One file as a rule set; its scenarios are left for later. Raises `Refused` with every fault."""
    if not isinstance(document.data, dict):
        raise Refused([document.fault((), "a rule file is a mapping of keys", '"ruleset: my yard", "version: 1" and "tasks:"')])
    content = {key: value for key, value in document.data.items() if key != "scenarios"}
    try:
        rules = RuleSet.model_validate(content)
    except ValidationError as error:
        raise Refused(faults_of(document, error)) from None
    rows = {active: row.named(active) for active, row in rules.treatments.items()}
    in_rows = {name: (active, key, value) for active, row in rows.items() for name, (key, value) in row.items()}
    return LoadedSet(
        name=rules.ruleset,
        document=document,
        describes=rules.describes,
        overlay=rules.overlay,
        extends=rules.extends,
        brings=rules.brings,
        equipment=rules.equipment,
        changes=content.get("changes"),
        sources=rules.sources,
        cautions=rules.cautions,
        parameters={**rules.parameters, **{name: value for name, (_, _, value) in in_rows.items()}},
        treatments={active: {key: name for name, (key, _) in row.items()} for active, row in rows.items()},
        places={("parameters", name): (document, ("treatments", active, key)) for name, (active, key, _) in in_rows.items()},
        cards=rules.tasks,
        stops=rules.stops,
        no_longer=rules.no_longer,
        bundled=bundled,
    )


def changed(sets: Mapping[str, LoadedSet], changes: Any, document: Document, at: Loc, raw: dict[tuple[str, str, str], Any]) -> dict[str, LoadedSet]:
    """The sets after the changes written at `at` of a document. `raw` keeps the written form of what earlier layers changed.

    Raises `Refused` with every fault of every change.
    """
    faults: list[Diagnostic] = []
    after = dict(sets)
    if not isinstance(changes, dict):
        cure = '"changes: {comb honey: {parameters: {drain floor: 24 h}}}"'
        raise Refused([document.fault(at, "changes: a mapping from rule set to what changes in it is needed", cure)])
    for name, change in changes.items():
        if name not in after:
            faults.append(document.fault((*at, name), f'changes: no rule set is named "{name}"', suggestion(name, after), key=True))
            continue
        parsed = _valid(SetChange, change, document, (*at, name), faults)
        if parsed is not None:
            layer = _Layer(after, name, document, (*at, name), raw, faults)
            after[name] = layer.over(parsed)
            for other, moved in layer.elsewhere.items():
                after[other] = _Layer(after, other, document, (*at, name), raw, faults).over(SetChange(parameters=moved))
    if faults:
        raise Refused(faults)
    return after


class _Layer:
    """One change over one of the sets, collecting its faults; `elsewhere` is what it changes of numbers that stand in another set, by that."""

    def __init__(
        self, sets: Mapping[str, LoadedSet], name: str, document: Document, at: Loc, raw: dict[tuple[str, str, str], Any], faults: list[Diagnostic]
    ) -> None:
        self.sets, self.one, self.document, self.at, self.raw, self.faults = sets, sets[name], document, at, raw, faults
        self.old_words: list[Diagnostic] = []
        self.elsewhere: dict[str, dict[str, Any]] = {}

    def over(self, change: SetChange) -> LoadedSet:
        parameters, cards = dict(self.one.parameters), dict(self.one.cards)
        places, replaced = dict(self.one.places), dict(self.one.replaced)
        here = dict(change.parameters)
        for name in [name for name in here if name not in parameters]:
            if (lender := self._lender(name)) and underscored(name) in NAMES["trade"]:
                self.elsewhere.setdefault(lender.name, {})[name] = here.pop(name)
                self._moved(name, lender.name)
            elif lender:
                parameters[name] = lender.parameters[name]
        borrowed = parameters.keys() - self.one.parameters.keys()
        for name, value in self._known("parameters", here, parameters):
            replaced.setdefault(name, str(parameters[name].value))
            before = parameters[name]
            whole = self._with_safe_end(name, before, value if isinstance(value, dict) else {**self._written("parameters", name), "value": value})
            self._put(Parameter, "parameters", name, whole, parameters, places)
            self._same_dimension(name, before, parameters[name])
            self._still_holds(name, replaced[name], parameters[name])
        for name, value in self._known("tasks", change.tasks, cards):
            before_cautions = cards[name].caution
            self._put(Card, "tasks", name, _merged(self._written("tasks", name), value), cards, places)
            self._warns_as_before(name, before_cautions, cards[name].caution)
        left_out = dict(self.one.left_out)
        for name, _ in self._known("without", dict.fromkeys(change.without), cards):
            left_out[name] = LeftOut(self.document, (*self.at, "without"), cards[name])
        for name in left_out:
            cards.pop(name, None)
        old_words = (*self.one.old_words, *self.old_words)
        return self.one._replace(
            parameters=parameters, cards=cards, places=places, replaced=replaced, left_out=left_out, old_words=old_words,
            for_itself=self.one.for_itself | borrowed,
        )  # fmt: skip

    def _lender(self, name: str) -> LoadedSet | None:
        """The other set that has a number which the cards of this one read, or had themselves."""
        read = re.compile(rf"\${re.escape(name)}(?![\w-])|\bparam\.{underscored(name)}\b")
        cards = (*self.one.cards.values(), *self.one.stops.values())
        return self._stands(name) if name in self.one.no_longer or any(read.search(card.model_dump_json()) for card in cards) else None

    def _stands(self, name: str) -> LoadedSet | None:
        """The set in whose file a number stands, a bundled one first."""
        having = [one for one in self.sets.values() if name in one.parameters and name not in one.for_itself]
        return min(having, key=lambda one: not one.bundled, default=None)

    def _moved(self, name: str, to: str) -> None:
        loc = (*self.at, "parameters", name)
        self.old_words.append(self.document.fault(loc, f'"{name}" is a number of "{to}" now, for every card that reads it', f'"{name}" under "{to}"', key=True))

    def _known(self, kind: str, written: Mapping[str, Any], known: Mapping[str, Any]) -> Iterable[tuple[str, Any]]:
        renamed = {old: name for name, card in self.one.cards.items() for old in card.formerly} if kind != "parameters" else {}
        for name, value in written.items():
            loc = (*self.at, kind) if kind == "without" else (*self.at, kind, name)
            if name in known:
                yield name, value
            elif name in renamed:
                now = renamed[name]
                self.old_words.append(self.document.fault(loc, f'the card "{name}" is called "{now}" now', f'"{now}"', key=kind != "without"))
                yield now, value
            elif name in self.one.no_longer:
                self.old_words.append(self.document.fault(loc, f'"{name}" is no longer of "{self.one.name}"', self.one.no_longer[name], key=kind != "without"))
            else:
                what, stands = ("parameter", self._stands(name)) if kind == "parameters" else ("card", None)
                cure = f'"{name}" under "{stands.name}"' if stands else suggestion(name, known)
                self.faults.append(self.document.fault(loc, f'"{self.one.name}" has no {what} "{name}"', cure, key=kind != "without"))

    def _put(self, model: type[M], kind: str, name: str, written: Any, items: dict[str, M], places: dict[tuple[str, str], tuple[Document, Loc]]) -> None:
        loc = (*self.at, kind, name)
        item = _valid(model, written, self.document, loc, self.faults)
        if item is not None:
            items[name] = item
            places[kind, name] = (self.document, loc)
            self.raw[self.one.name, kind, name] = written

    def _warns_as_before(self, name: str, before: Sequence[str], now: Sequence[str]) -> None:
        """A change may add cautions to a card, and takes none away: it protects whoever else does the work."""
        if gone := [one for one in before if one not in now]:
            loc = (*self.at, "tasks", name, "caution")
            whole = ", ".join((*before, *(one for one in now if one not in before)))
            self.faults.append(
                self.document.fault(loc, f'the card "{name}" warns of {", ".join(gone)}: a change adds cautions and takes none away', f"caution: [{whole}]")
            )

    def _same_dimension(self, name: str, before: Parameter, now: Parameter) -> None:
        loc = (*self.at, "parameters", name)
        try:
            was, found = si_value(before)[1], si_value(now)[1]
        except Fault as fault:
            self.faults.append(self.document.fault(loc, f'parameter "{name}": {fault.message}', fault.write))
            return
        if was != found:
            self.faults.append(
                self.document.fault(
                    loc, f'parameter "{name}": {now.value} is {with_article(found)}; {with_article(was)} is needed', f"{before.value}, or another {was}"
                )
            )

    def _with_safe_end(self, name: str, before: Parameter, written: dict[str, Any]) -> dict[str, Any]:
        """A change as it is written, with the direction in which alone the number may be made otherwise: no layer takes that away."""
        if before.may_be_made is None:
            return written
        if written.get(SAFE_END, before.may_be_made) != before.may_be_made:
            loc = (*self.at, "parameters", name, SAFE_END)
            self.faults.append(self.document.fault(loc, f'parameter "{name}" may only be made {before.may_be_made}', f"{SAFE_END}: {before.may_be_made}"))
        return {**written, SAFE_END: before.may_be_made}

    def _still_holds(self, name: str, first: str, now: Parameter) -> None:
        """A number stays on its safe side of the rule file's own, and one that estimates reckon with is not none of what is counted or measured."""
        known = NAMES["trade"].get(underscored(name))
        with suppress(Fault):  # told as another dimension
            (value, found), loc = si_value(now), (*self.at, "parameters", name)
            if isinstance(value, bool | str):
                return
            if known is not None and found == known.measures and value <= 0 and found not in MAY_BE_NONE:
                told = f'parameter "{name}": with {now.value} nothing can be reckoned'
                self.faults.append(self.document.fault(loc, told, f"{first}, or another {found} above zero"))
            elif now.may_be_made and (value > parse(first, found) if now.may_be_made == "lower" else value < parse(first, found)):
                way = in_words(now.may_be_made, found)
                told = f'parameter "{name}": {now.value} is milder than {first}, and it protects: it may only be made {way}'
                self.faults.append(self.document.fault(loc, told, f"{first}, or {way}"))

    def _written(self, kind: str, name: str) -> Any:
        """A card or a parameter as it is written in its file, after the layers so far."""
        one = self.one if kind != "parameters" or name in self.one.parameters else self._stands(name) or self.one
        if (one.name, kind, name) in self.raw:
            return self.raw[one.name, kind, name]
        document, at = one.place(kind, name)
        return reduce(getitem, at, document.data)


def _valid(model: type[M], written: Any, document: Document, loc: Loc, faults: list[Diagnostic]) -> M | None:
    try:
        return model.model_validate(written)
    except ValidationError as error:
        faults += faults_of(document, error, loc)
        return None


def _merged(under: Any, over: Any) -> Any:
    """`over` laid on `under` key by key; null takes a key away."""
    if not isinstance(under, dict) or not isinstance(over, dict):
        return over
    kept = {key: value for key, value in under.items() if not (key in over and over[key] is None)}
    return kept | {key: _merged(under.get(key), value) for key, value in over.items() if value is not None}
