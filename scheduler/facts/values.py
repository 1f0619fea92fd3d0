"""How a person writes words, yes and no, dates, and quantities with a least and a greatest sensible value.

Each reader gives the plain value or raises `Fault`, which says what to write; a list of faults keeps the place of each (`together`).
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from typing import Annotated, Any

from pydantic import BeforeValidator, ValidationError
from pydantic_core import InitErrorDetails, core_schema

from scheduler.diagnostics import Fault, instead
from scheduler.local_time import in_years
from scheduler.quantities import parse, with_article


class Reads:
    """How a value is read, where the reader alone decides: pydantic looks at neither the type nor the signature, which a start would wait for."""

    def __init__(self, read: Callable[[Any], Any], written: Mapping[str, Any] | None = None) -> None:
        self.read, self.written = read, written or {}

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> core_schema.CoreSchema:
        """Only the reader."""
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(self, core: Any, handler: Any) -> dict[str, Any]:
        """How it is written, as far as JSON Schema can say it."""
        return dict(self.written)


Loc = tuple[str | int, ...]
LONGEST_TEXT = 500  # characters
_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,63}")
_DATE = re.compile(r"(\d{4})-(\d{2})-(\d{2})")


def several_faults(title: str, faults: Sequence[tuple[Loc, Any, Fault]]) -> ValidationError:
    """Several faults as one error that keeps where each stands: (place below the field, what was written, fault)."""
    details = [InitErrorDetails(type="value_error", loc=loc, input=given, ctx={"error": fault}) for loc, given, fault in faults]
    return ValidationError.from_exception_data(title, details)


def read_text(value: Any) -> str:
    """A line or a few of plain text; a whole number is taken as it is written."""
    if isinstance(value, int) and not isinstance(value, bool):
        return str(value)
    if not isinstance(value, str):
        raise Fault("text is needed", f'"{value}", in quotes' if isinstance(value, float | bool) else "a word or a few")
    text = value.strip()
    if not text:
        raise Fault("the text is empty", "a word or a few")
    if len(text) > LONGEST_TEXT:
        raise Fault(f"the text has {len(text)} characters", f"at most {LONGEST_TEXT}")
    if any(ord(character) < 32 and character not in "\n\t" for character in text):
        raise Fault("the text holds a control character", "plain text")
    return text


def read_name(value: Any) -> str:
    """Text on one line."""
    text = read_text(value)
    if "\n" in text or "\t" in text or len(text) > 80:
        raise Fault("a name is one line of at most 80 characters", f'"{" ".join(text.split())[:40]}"')
    return text


def read_id(value: Any) -> str:
    """Letters, digits, - and _, beginning with a letter or a digit, at most 64."""
    text = read_name(value)
    if not _ID.fullmatch(text):
        cure = re.sub(r"[^A-Za-z0-9_-]+", "-", text).strip("-_")[:64] or "ridge-2"
        raise Fault(f'"{text}" cannot be a name here: letters, digits, - and _ only, at most 64', cure)
    return text


def read_yes_no(value: Any) -> bool:
    """true and false, yes and no."""
    if isinstance(value, bool):
        return value
    word = str(value).strip().lower()
    if word not in ("yes", "true", "no", "false"):
        raise Fault(f'"{value}" is neither yes nor no', "yes or no")
    return word in ("yes", "true")


def read_date(value: Any) -> date:
    """A date as 2026-08-11, between the years 1950 and 2149."""
    match = _DATE.fullmatch(str(value).strip())
    if not match:
        raise Fault(f'"{value}" is not a date', "2026-08-11 (year, month, day)")
    try:
        day = date(*map(int, match.groups()))
    except ValueError:
        raise Fault(f'"{value}" is no day of the calendar', "a day that exists, such as 2026-08-11") from None
    return in_years(day, value)


def read_many(value: Any) -> Any:
    """One entry or a list of them."""
    return value if isinstance(value, list | tuple) else [value]


def one_of(*words: str) -> Reads:
    """Reads a word from a short list; another is refused with the nearest."""

    def read(value: Any) -> str:
        if isinstance(value, str) and value.strip() in words:
            return value.strip()
        raise Fault(f'"{value}" is not known here', instead(str(value), words))

    return Reads(read, {"enum": list(words)})


def between(dimension: str, low: str, high: str, because: str = "") -> Reads:
    """Reads a quantity of a dimension from `low` to `high`, both counted and both written with their unit."""
    least, greatest = parse(low, dimension), parse(high, dimension)

    def read(value: Any) -> float:
        number = _quantity(value, dimension)
        if not least <= number <= greatest:
            raise Fault(f'"{value}" is not possible{because}', f"{with_article(dimension)} from {low} to {high}")
        return number

    return Reads(read, {"type": ["string", "number"]})


def positive(dimension: str) -> Reads:
    """Reads a quantity above zero."""

    def read(value: Any) -> float:
        number = _quantity(value, dimension)
        if number <= 0:
            raise Fault(f'"{value}" is not above zero', f"{with_article(dimension)} above zero, or leave the key out")
        return number

    return Reads(read, {"type": ["string", "number"]})


def number_between(low: float, high: float, what: str) -> Reads:
    """Reads a plain number from `low` to `high`, such as a latitude in degrees."""

    def read(value: Any) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
            raise Fault(f'"{value}" is not a {what}', f"decimal degrees without a letter, {low:g} to {high:g}; south and west are negative")
        return float(value)

    return Reads(read, {"type": "number", "minimum": low, "maximum": high})


def whole(unit: str, most: int) -> Reads:
    """Reads a count from 1 to `most`, bare or with its word ("14 frames")."""

    def read(value: Any) -> int:
        try:
            number = _quantity(value, "count")
        except Fault:
            number = 0.0
        if number != int(number) or not 1 <= number <= most:
            raise Fault(f'"{value}" is not a number of {unit}', f'a whole number from 1 to {most}, such as "4 {unit}"')
        return int(number)

    return Reads(read, {"type": ["integer", "string"]})


def _quantity(value: Any, dimension: str) -> float:
    """`parse` for a value from a file: text, or a number, which lacks its unit; counts may stand bare."""
    if isinstance(value, int | float | str) and not isinstance(value, bool):
        return parse(str(value), dimension)
    try:
        return parse("", dimension)  # is no quantity, and says what one looks like
    except Fault as fault:
        raise Fault(f"{with_article(dimension)} is needed", fault.write) from None


_WORDS = {"type": ["string", "integer"]}
Text = Annotated[str, Reads(read_text, _WORDS)]
Name = Annotated[str, Reads(read_name, _WORDS)]
Id = Annotated[str, Reads(read_id, _WORDS)]
YesNo = Annotated[bool, Reads(read_yes_no, {"enum": [True, False, "yes", "no"]})]
Day = Annotated[date, Reads(read_date, {"type": "string"})]
Names = Annotated[tuple[Name, ...], BeforeValidator(read_many)]
