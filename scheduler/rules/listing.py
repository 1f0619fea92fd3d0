"""What a reader asks of rules: which numbers are old or assumed, how one card stands, what it reads."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

import yaml

from scheduler.diagnostics import Fault
from scheduler.local_time import in_years
from scheduler.rules.card_check import CardCheck, Loc, marked
from scheduler.rules.expressions import underscored
from scheduler.rules.numbers import LoadedParameter
from scheduler.rules.rule_set import LoadedCard, Rules
from scheduler.rules.short_forms import AmountOf, Line, as_lines
from scheduler.rules.spoken_names import phrases
from scheduler.rules.vocabulary import NAMES

WIDTH = 110  # characters of a line of YAML
_AGE = re.compile(r"^\s*(\d{1,4})\s*(d|day|days|months?|y|years?)\s*$")


def cutoff(age: str, as_of: str) -> date:
    """The day that lies `age` ("3y", "18 months", "90 d") before the day `as_of` (ISO 8601). Raises `Fault`."""
    match = _AGE.match(age)
    if not match:
        raise Fault(f'"{age}" is not an age', '"3y", "18 months" or "90 d"')
    try:
        day = date.fromisoformat(as_of[:10])
    except ValueError:
        raise Fault(f'"{as_of}" is not a date', '"2026-11-25"') from None
    in_years(day, as_of)
    count, unit = int(match[1]), match[2][0]
    if unit == "d":
        return day - timedelta(days=count)
    months = day.year * 12 + day.month - 1 - count * (12 if unit == "y" else 1)
    if months < 12:
        raise Fault(f'"{age}" reaches back before the calendar', '"3y"')
    first = date(months // 12, months % 12 + 1, 1)
    following = date((months + 1) // 12, (months + 1) % 12 + 1, 1)
    return min(first + timedelta(days=day.day - 1), following - timedelta(days=1))


def parameters(rules: Rules, basis: str | None, before: date | None) -> Iterator[tuple[str, LoadedParameter]]:
    """Set and parameter where the basis is `basis` and it was last checked before the day `before`; None asks nothing."""
    for of, found in rules.parameters.items():
        for one in found.values():
            if basis in (None, one.basis) and (before is None or one.checked < before):
                yield of, one


def parameters_of(rules: Rules, card: LoadedCard) -> list[LoadedParameter]:
    """The parameters a card reads: its own in the order of its rule file, then those of other sets."""
    known = rules.readable[card.set]
    check = CardCheck.of(card.card, known, rules.values[card.set])
    for text in marked(card.card):
        check.check(text)
    return [one for name, one in known.items() if underscored(name) in check.used]


def read_by(rules: Rules, card: LoadedCard) -> list[str]:
    """Keys of the cards that wait for a card or hang on it."""
    return [other.key for other in rules.cards if card.key in other.after or card.key in other.needs]


def names_read() -> Iterator[str]:
    """The names that an expression may read, a line for each, with what it measures."""
    for of, fields in NAMES.items():
        for field, name in fields.items():
            aloud = "; ".join(f'"{one}"' for one in phrases(of, field) if name.said)
            yield f"{of}.{field}    {name.says} ({name.measures}{', or unknown' if name.may_be_unknown else ''}){f'  Said: {aloud}' if aloud else ''}"


def as_yaml(card: LoadedCard, *, commands: bool = True) -> str:
    """A card in force as YAML, with what its file leaves unsaid left out; without its `commands` for who types none."""
    kept = card.card.model_dump(mode="json", by_alias=True, exclude_unset=True, exclude=None if commands else {"by": True, "mind": {"__all__": {"by"}}})
    for one in marked(card.card):
        if isinstance(one.mark, AmountOf) and isinstance(lines := as_lines(one.text), list | dict):
            _put(kept, one.loc, lines)
    return yaml.dump(kept, Dumper=_Dumper, sort_keys=False, allow_unicode=True, width=WIDTH)


class _Dumper(yaml.SafeDumper):
    """Writes each entry of a first-match list on a line of its own."""


def _represented(dumper: _Dumper, line: Line) -> yaml.Node:
    return dumper.represent_mapping("tag:yaml.org,2002:map", line, flow_style=sum(map(len, line.values())) < WIDTH - 20)


_Dumper.add_representer(Line, _represented)


def _put(kept: Any, loc: Loc, value: object) -> None:
    """Put a value in its place, where the card says it."""
    *steps, last = loc
    for step in steps:
        kept = kept.get(step, {}) if isinstance(kept, dict) else kept[step]
    if last in kept:
        kept[last] = value
