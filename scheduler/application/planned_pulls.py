"""Planned harvests: logged while the pull was still to come, until somebody says, or does what shows, that the supers are off."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import datetime
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

import yaml

from scheduler.application.templates import new_lots
from scheduler.diagnostics import Fault, Refused
from scheduler.documents import read as read_text
from scheduler.facts.fact import HarvestLogged, HarvestPulled, Recorded, TaskBegun, TaskDone, TaskFact, YardSet
from scheduler.facts.harvest import KINDS, Harvest, pulled_at, read_harvest
from scheduler.facts.yard import Yard, read_yard
from scheduler.planning.task_ids import card_slug, current, slug_of, subject_of
from scheduler.rules.load import is_bundled
from scheduler.rules.rule_set import Rules


class Logged(NamedTuple):
    """A harvest as last logged, with the moment of its pull as it was told; `ahead` is for when it is planned, where nobody said that it was [s]."""

    text: HarvestLogged
    harvest: Harvest
    ahead: int | None = None


def read_as_logged(text: HarvestLogged, yard: Yard, rules: Rules, yards: Iterable[YardSet]) -> Harvest:
    """A harvest file as it was logged. Raises `Refused`, with what the yard file left out since where a lot is of a product that no rule set in force brings.

    `yards` are the yard files that were set, the one in force among them.
    """
    try:
        return read_harvest(text.text.encode(), text.path, yard, products=rules.products.known)
    except Refused:
        left = dict.fromkeys(name for one in yards for name in _rules_named(one) if name not in yard.rules)
        document = read_text(text.text.encode(), text.path)
        lots = enumerate(document.data["lots"])
        unknown = [(at, lot["kind"]) for at, lot in lots if lot["kind"] not in (*KINDS, *rules.products.known)]
        own = [name for name in yard.rules if not is_bundled(name)]
        if not unknown or not (left or own):
            raise
        if left:
            named, cure = f"an earlier yard file named {', '.join(left)} too", f'"rules: [{", ".join((*yard.rules, *left))}]" in the yard file again'
        else:
            named, cure = f"it names {', '.join(own)}", f"{' or '.join(own)} as it was when it brought that, or another kind in the harvest file, logged again"
        told = f"is of a product that no rule file of the yard brings; {named}"
        raise Refused([document.fault(("lots", at, "kind"), f'"{kind}" {told}', cure) for at, kind in unknown]) from None


def _rules_named(fact: YardSet) -> tuple[str, ...]:
    """The rule files that an earlier yard file named; none where it is read no more."""
    try:
        return read_yard(fact.text.encode(), fact.path).rules
    except Refused:
        return ()


def as_told(facts: Iterable[Recorded], since: int, read: Callable[[HarvestLogged], Harvest], zone: ZoneInfo, rules: Rules) -> list[Logged]:
    """
    Every harvest logged after `since` [s since 1970], from the facts that stand.

    A word that the supers are off counts, as does work done or begun that follows the pull: it shows that they are.
    """
    logged: dict[str, HarvestLogged] = {}
    pulled: dict[str, HarvestPulled] = {}
    worked: dict[str, list[TaskFact]] = {}
    for one in sorted(facts, key=lambda one: one.sequence):
        fact = one.fact
        if isinstance(fact, HarvestLogged):
            logged[fact.harvest] = fact
            pulled.pop(fact.harvest, None)  # the file that was logged last has the last word
        elif isinstance(fact, HarvestPulled):
            pulled[fact.harvest] = fact
        elif isinstance(fact, TaskDone | TaskBegun) and (harvest := subject_of(fact.task)):
            worked.setdefault(harvest, []).append(fact)
    found = []
    for name, text in logged.items():
        if text.occurred_at > since:
            found.append(_told(text, read(text), pulled.get(name), worked.get(name, ()), zone, rules))
    return found


def _told(text: HarvestLogged, harvest: Harvest, word: HarvestPulled | None, worked: Iterable[TaskFact], zone: ZoneInfo, rules: Rules) -> Logged:
    planned = int(pulled_at(harvest, zone).timestamp())
    if word is not None:
        bees = {} if word.without_bees is None else {"without_bees": word.without_bees}
        return Logged(text, harvest.model_copy(update={"pulled": datetime.fromtimestamp(word.occurred_at, zone), **bees}))
    if planned <= text.occurred_at:
        return Logged(text, harvest)
    before = {card_slug(card.name): card.card.pulls for card in rules.cards if card.is_before_pull}
    slugs = {slug_of(current(one.task, rules.renamed)): one.occurred_at for one in worked}
    at = min((moment if before.get(slug) else min(moment, planned) for slug, moment in slugs.items() if before.get(slug, True)), default=None)
    if at is None:
        return Logged(text, harvest, planned)
    return Logged(text, harvest.model_copy(update={"pulled": datetime.fromtimestamp(at, zone)}))


def otherwise(
    text: HarvestLogged,
    pulled: datetime,
    frames: Sequence[str],
    hives: Sequence[str],
    lots: Sequence[str],
    without_bees: str | None,
    products: Iterable[str] = (),
) -> str:
    """
    The text of a planned harvest as it came off: at another moment, with other `frames` ("a=4"; none: that lot stayed on) or `hives`, and with `lots` of
    frames that make a lot of their own, in words. Raises `Fault`.
    """
    data: dict[str, Any] = dict(read_text(text.text.encode(), text.path, "harvest").data)
    data["pulled"] = f"{pulled:%Y-%m-%dT%H:%M}"
    if hives:
        data["hives"] = list(hives)
    if without_bees is not None:
        data["without bees"] = without_bees
    found = {str(lot["id"]): dict(lot) for lot in data["lots"]}
    for one in frames:
        lot, count = _frames(one, found)
        if count:
            found[lot]["frames"] = count
        else:
            del found[lot]
    data["lots"] = [*found.values(), *new_lots(lots, [str(lot["id"]) for lot in data["lots"]], products)]
    return yaml.safe_dump(data, sort_keys=False, allow_unicode=True)


def _frames(text: str, known: Iterable[str]) -> tuple[str, int]:
    """A lot and how many of its frames came off, from "a=4"."""
    lot, _, count = (part.strip() for part in text.partition("="))
    if lot not in known or not count.isdecimal():
        raise Fault(f'--frames: "{text}" is not a lot and how many of its frames came off', " or ".join(f"{one}=4" for one in known) or "--lot")
    return lot, int(count)
