"""The words of a card with places between braces: names, quantities, words where something is so, and how many there are with their noun."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache
from typing import NamedTuple

from scheduler.diagnostics import Fault, instead
from scheduler.quantities import dimensions, reworded, show
from scheduler.rules.amounts import amount, condition, kind_of, plain
from scheduler.rules.environment import Environment
from scheduler.rules.expressions import ExpressionFault
from scheduler.rules.spoken_names import NOUNS, SINGULAR

UNKNOWN = "not known"
_BRACE = re.compile("[{}]")
_SHOWN_AS = re.compile(r"^\s*(?P<dimension>[a-z][a-z ]*?)\s*:\s*(?P<text>.+)$", re.DOTALL)
_IF, _SO_MANY = re.compile(r"\s*if\s"), re.compile(r"\s*so\s+many\s+(?P<noun>.+?)\s*$", re.DOTALL)
_OTHERWISE = re.compile(r";\s+otherwise(?=\s+if\s|\s*:)")
_SAMPLE = '"{if beetle was seen: Freeze at once; otherwise: Freeze}"'


class Placeholder(NamedTuple):
    """A name, a quantity or an expression, shown as a quantity of a dimension where one is named."""

    text: str
    dimension: str | None


class SoMany(NamedTuple):
    """How many there are of what is counted, with its noun in one or several: "so many packages"."""

    noun: str


class WordsIf(NamedTuple):
    """Words for the first condition that is so; the last are for all else."""

    cases: tuple[tuple[str, Parts], ...]
    otherwise: Parts


Parts = tuple[str | Placeholder | SoMany | WordsIf, ...]


@lru_cache(maxsize=8192)
def template_parts(template: str) -> Parts:
    """A template cut into words and places; `{{` and `}}` are literal braces. Raises `Fault` for a brace without its partner."""
    return tuple(_cut(template))


def _cut(template: str) -> Iterator[str | Placeholder | SoMany | WordsIf]:
    words, i = "", 0
    while brace := _BRACE.search(template, i):
        words, i, char = words + template[i : brace.start()], brace.start(), brace[0]
        if template[i : i + 2] == char * 2:
            words, i = words + char, i + 2
        elif char == "}":
            raise Fault('a "}" stands without its "{"', '"}}" for the brace itself')
        else:
            end = _closing(template, i + 1)
            if words:
                yield words
            yield _place(template[i + 1 : end])
            words, i = "", end + 1
    if words or i < len(template):
        yield words + template[i:]


def _closing(template: str, start: int) -> int:
    """Where the brace ends that was opened before `start`: a choice may hold others, an expression has words in quotes."""
    nests, depth, quote = bool(_IF.match(template, start)), 0, ""
    for i in range(start, len(template)):
        char = template[i]
        if quote:
            quote = "" if char == quote else quote
        elif not nests and (char == '"' or (char == "'" and not template[i - 1].isalnum())):
            quote = char
        elif char == "{":
            depth += nests
        elif char == "}":
            if not depth:
                return i
            depth -= 1
    raise Fault('a "{" stands without its "}"', '"{lot.pieces}", or "{{" for the brace itself')


def _place(text: str) -> Placeholder | SoMany | WordsIf:
    if _IF.match(text):
        return _choice(text)
    if counted := _SO_MANY.match(text):
        noun = " ".join(counted["noun"].split())
        if noun not in NOUNS:
            raise ExpressionFault(text, 1, counted.start("noun") + 1, f'"{noun}" is nothing that is counted', instead(noun, NOUNS))
        return SoMany(noun)
    match = _SHOWN_AS.match(text)
    if match and match["dimension"] in dimensions():
        return Placeholder(match["text"].strip(), match["dimension"])
    return Placeholder(text.strip(), None)


def _choice(text: str) -> WordsIf:
    """ "if CONDITION: WORDS; otherwise if CONDITION: WORDS; otherwise: WORDS"; what follows a colon and one space stands as it is."""
    cases: list[tuple[str, Parts]] = []
    for branch in _branches(text):
        asked, colon, words = branch.partition(":")
        if not colon:
            raise Fault(f'"{{{text}}}" does not say what stands there if that is so', _SAMPLE)
        parts = template_parts(words.removeprefix(" "))
        if not _IF.match(branch):
            return WordsIf(tuple(cases), parts)
        cases.append((asked.strip().removeprefix("if").strip(), parts))
    return WordsIf(tuple(cases), ())


def _branches(text: str) -> Iterator[str]:
    """The text at each "; otherwise" that stands in no braces of its own; nothing follows one without "if"."""
    begun = 0
    for found in _OTHERWISE.finditer(text):
        before = text[: found.start()]
        if before.count("{") == before.count("}"):
            yield text[begun : found.start()]
            begun = found.end()
            if not _IF.match(text, begun):
                break
    yield text[begun:]


def conditions_in(parts: Parts) -> Iterator[str]:
    """What words with places ask, whichever way it goes."""
    for part in parts:
        if isinstance(part, WordsIf):
            for asked, words in part.cases:
                yield asked
                yield from conditions_in(words)
            yield from conditions_in(part.otherwise)


def placeholders_in(parts: Parts) -> Iterator[Placeholder]:
    """What words with places show, whichever way their conditions go."""
    for part in parts:
        if isinstance(part, Placeholder):
            yield part
        elif isinstance(part, SoMany):
            yield Placeholder(part.noun, None)
        elif isinstance(part, WordsIf):
            for words in (*(words for _, words in part.cases), part.otherwise):
                yield from placeholders_in(words)


def without_expressions(template: str) -> None:
    """Raise `Fault` where a place is no plain quantity, as "{27 kg}" is."""
    parts = template_parts(template)
    for asked in conditions_in(parts):
        raise Fault(f'"if {asked}" asks something, and a caution stands for every lot', "two cautions, each on its own cards")
    for place in placeholders_in(parts):
        reworded(place.text, "metric")


def render(template: str, env: Environment) -> str:
    """The words with each place filled in: "{lot.pieces} pieces, {mass: lot.mass}, up to {27 kg}"; quantities in the yard's units."""
    return _rendered(template_parts(template), env)


def _rendered(parts: Parts, env: Environment) -> str:
    return "".join(part if isinstance(part, str) else _filled(part, env) for part in parts)


def _filled(part: Placeholder | SoMany | WordsIf, env: Environment) -> str:
    if isinstance(part, WordsIf):
        return _rendered(next((words for asked, words in part.cases if condition(asked, env)), part.otherwise), env)
    if isinstance(part, SoMany):
        number = amount(part.noun, "count", env).value
        return f"{plain(number)} {SINGULAR[part.noun] if number == 1 else part.noun}"
    units = env.names.get("yard", {}).get("units", "metric")
    if part.dimension and kind_of(part.text, env.parameters) == "expression" and env.evaluate(part.text)[0] is None:
        return UNKNOWN
    if part.dimension:
        return show(amount(part.text, part.dimension, env).value, part.dimension, units)
    kind = kind_of(part.text, env.parameters)
    if kind == "quantity":
        return reworded(part.text, units)
    if kind == "parameter":
        return plain(amount(part.text, "any", env).value)
    value, _ = env.evaluate(part.text)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if value is None:
        return UNKNOWN
    return plain(value) if isinstance(value, int | float) else str(value)
