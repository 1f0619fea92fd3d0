"""What people write where an amount or a condition is wanted, and is none: a decimal comma, a range, "and" among the signs of an old expression."""

from __future__ import annotations

import re
from collections.abc import Collection
from contextlib import suppress

from scheduler.diagnostics import Fault
from scheduler.quantities import parse
from scheduler.rules.expressions import ExpressionFault, position

_WORDS = re.compile(r"\s*[A-Za-z][A-Za-z0-9' -]*")
_COMMA = re.compile(r"\s*(?P<whole>[-+]?\d+),(?P<part>\d+)\s*(?P<unit>[A-Za-z°%].*)?")
_NUMBER = r"\d+(?:\.\d+)?"
_RANGE = re.compile(rf"\s*(?P<low>{_NUMBER})\s*(?:-|–|to)\s*(?P<high>{_NUMBER})\s*(?P<unit>[A-Za-z°%][A-Za-z°% ]*)")
_QUOTED = re.compile(r""""(?:[^"\\]|\\.)*"|'(?:[^'\\]|\\.)*'""")
_SIGNS = {r"\band\b": "&&", r"\bor\b": "||", r"\bnot\b": "!", r"(?<![=!<>])=(?!=)": "=="}
_UNQUOTED = re.compile(r"[=!]=\s*$")


def amount_slip(text: str, dimension: str, parameters: Collection[str]) -> Fault | None:
    """The fault of an amount that is neither a quantity nor an expression; None where nothing of the kind is wrong."""
    if found := _COMMA.fullmatch(text):
        point = f"{found['whole']}.{found['part']} {found['unit'] or ''}".strip()
        return Fault(f'"{text.strip()}" has a comma, and numbers are written with a point here', f'"{point}"')
    if found := _RANGE.fullmatch(text):
        low, high = (f'"{found[end]} {found["unit"].strip()}"' for end in ("low", "high"))
        return Fault(f'"{text.strip()}" is a range; one amount is needed', f"{high}, or {low}")
    if not _WORDS.fullmatch(text) or dimension == "any":
        return None
    if text.strip() in parameters:
        return Fault(f'"{text.strip()}" is a parameter, and stands here as a word', f'"${text.strip()}"')
    with suppress(Fault):
        parse(text, dimension)
        return None
    try:
        parse("", dimension)
    except Fault as fault:
        return Fault(f'"{text.strip()}" is not a {dimension}', f'{fault.write}, or "$NAME" for a parameter of this file')
    return None


def condition_slip(text: str) -> ExpressionFault | None:
    """The fault of a condition with signs that has words, or "=", for some of them; None where nothing of the kind is wrong."""
    bare = _QUOTED.sub(lambda quoted: " " * len(quoted[0]), text)
    for sign, meant in _SIGNS.items():
        if found := re.search(sign, bare):
            return ExpressionFault(text, *position(text, found.start()), f'"{found[0]}" is not a sign of an expression', f"{meant} in its place")
    return None


def with_signs(text: str) -> str:
    """The condition with the signs that were meant; what stands in quotes stays."""
    for sign, meant in _SIGNS.items():
        text = re.sub(f"({_QUOTED.pattern})|{sign}", lambda found, meant=meant: found[1] or meant, text)  # type: ignore[misc]  # bound as it is made
    return text


def unquoted(text: str, offset: int, name: str) -> str | None:
    """A word that something is compared with, in the quotes it lacks; None for a name that stands elsewhere."""
    return f"'{name.replace('_', ' ')}', in quotes, for a word" if _UNQUOTED.search(text[:offset]) else None
