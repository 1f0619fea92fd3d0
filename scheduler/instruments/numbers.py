"""A cell as a number: decimal marks by the whole file, signs as printed, units behind it, and what stands for no reading."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Literal

from scheduler.instruments.text import Unread, plain

Unit = Literal["C", "F", "kg", "lb", "g"]
_UNITS: dict[str, Unit] = {
    **dict.fromkeys(("c", "celsius", "degc", "centigrade"), "C"),
    **dict.fromkeys(("f", "fahrenheit", "degf"), "F"),
    **dict.fromkeys(("kg", "kgs", "kilogram", "kilograms", "kilo", "kilos"), "kg"),
    **dict.fromkeys(("lb", "lbs", "pound", "pounds"), "lb"),
    **dict.fromkeys(("g", "gram", "grams"), "g"),
}
SIGNS: dict[Unit, str] = {"C": "°C", "F": "°F", "kg": "kg", "lb": "lb", "g": "g"}
TEMPERATURES: frozenset[Unit] = frozenset(("C", "F"))
MASSES: frozenset[Unit] = frozenset(("kg", "lb", "g"))
_POUND, _GRAM = 0.45359237, 0.001  # kg, exact (NIST Handbook 44, Appendix C)
EMPTY = frozenset(("", "na", "n/a", "#n/a", "nan", "null", "none", "-", "--", "---", "----", "m", ".", "?", "missing", "no data"))
ERRORS = frozenset(("err", "err.", "error", "fault", "fail", "failed", "open", "short", "ol", "ovl", "overflow", "underflow", "disconnected", "invalid"))
_NUMBER = re.compile(r"([+-]?)([0-9][0-9.,]*|[.,][0-9]+)(?:[eE]([+-]?[0-9]{1,2}))?\s*(\D*)")
_SIMPLE = re.compile(r"-?[0-9]{1,9}(?:\.[0-9]{1,9})?")
_PRINTED = str.maketrans({"\u2212": "-", "\u2013": "-", "\u00a0": " ", "\u202f": " "})
_GROUPED = re.compile(r"[0-9]{1,3}(?:([.,])[0-9]{3})+([.,])[0-9]+")


def unit_named(word: str) -> Unit | None:
    """The unit a word names: "°F", "deg C", "lbs"."""
    return _UNITS.get(plain(word).replace(" ", ""))


def unit_of_name(name: str) -> Unit | None:
    """The unit a column's name ends with, or has in brackets or after a degree sign: "Temp, °C (S/N 1)"."""
    for found in re.findall(r"[(\[]([^)\]]*)[)\]]", name):
        if unit := unit_named(found):
            return unit
    if degree := re.search(r"°\s*([CF])\b", name):
        return unit_named(degree[1])
    words = plain(name).split()
    spoken = [unit for word in words if len(word) > 2 and (unit := _UNITS.get(word))]
    return spoken[0] if spoken else _UNITS.get(words[-1]) if words else None


def to_si(value: float, unit: Unit) -> float:
    """A reading in °C or kg."""
    if unit == "F":
        return (value - 32) / 1.8
    return value * (_POUND if unit == "lb" else _GRAM if unit == "g" else 1.0)


def decimal_mark(cells: Iterable[tuple[int, int, str]]) -> str:
    """
    The decimal mark of (line, number of the column, cell)s: a comma where cells have one and none a dot alone.

    Raises `Unread` where some have this and some that, for "1,234" could be a thousand then.
    """
    first: dict[str, tuple[int, int, str]] = {}
    for line, column, cell in cells:
        comma, dot = "," in cell, "." in cell
        if comma != dot and _NUMBER.fullmatch(_ascii(cell)):
            first.setdefault("," if comma else ".", (line, column, cell))
            if len(first) == 2:
                others = "a comma" if dot else "a dot"
                raise Unread(line, column, f'"{cell}" has {"a comma" if comma else "a dot"} where rows before it have {others}', "one decimal mark in all rows")
    return next(iter(first), ".")


def _ascii(cell: str) -> str:
    """A cell with the minus sign and the spaces of a keyboard instead of those of print."""
    return cell if cell.isascii() else cell.translate(_PRINTED)


def number(cell: str, mark: str) -> tuple[float, Unit | None] | None:
    """A number as written and the unit behind it; None where the cell is no number. No underscores, no digits of other scripts, nothing infinite."""
    if mark == "." and _SIMPLE.fullmatch(cell):
        return float(cell), None
    found = _NUMBER.fullmatch(_ascii(cell))
    if found is None:
        return None
    sign, digits, power, behind = found.groups()
    unit = unit_named(behind) if behind.strip() else None
    if behind.strip() and unit is None:
        return None
    grouped = _GROUPED.fullmatch(digits)
    if grouped and grouped[1] != grouped[2]:
        digits = digits.replace(grouped[1], "").replace(grouped[2], ".")
    elif mark == ",":
        if "." in digits:
            return None
        digits = digits.replace(",", ".")
    if digits.count(".") > 1 or "," in digits or len(digits) > 30:
        return None
    return float(f"{sign}{digits}e{power or 0}"), unit
