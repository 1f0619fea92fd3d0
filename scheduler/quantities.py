""" "12 h", "-18 °C", "90 L" to SI numbers and back, in metric and US units; and `Estimate`, a number with its range.

Numbers inside the program are seconds, °C, metres, kilograms, cubic metres, kg/s, W/m²K, Pa·s and shares of one.
Factors are exact by definition (NIST Handbook 44, Appendix C).
"""

import math
import re
from decimal import Decimal
from fractions import Fraction
from functools import cache, lru_cache
from typing import Annotated, Any, NamedTuple, Self

from pydantic import BeforeValidator

from scheduler.diagnostics import Fault

_TABLE: dict[str, dict[str, str]] = {
    "duration": {"s": "1", "min": "60", "h": "3600", "d": "86400", "day": "86400", "days": "86400", "week": "604800", "weeks": "604800"},
    "length": {"mm": "0.001", "m": "1", "cm": "0.01", "dm": "0.1", "in": "0.0254", "ft": "0.3048", "yd": "0.9144", "µm": "0.000001", "um": "0.000001"},
    "area": {"m2": "1", "cm2": "0.0001", "dm2": "0.01", "sq in": "0.00064516"},
    "mass": {"kg": "1", "g": "0.001", "lb": "0.45359237", "oz": "0.028349523125"},
    "volume": {
        "m3": "1",
        "L": "0.001",
        "l": "0.001",
        "mL": "0.000001",
        "ml": "0.000001",
        "gal": "0.003785411784",
        "qt": "0.000946352946",
        "pt": "0.000473176473",
        "fl oz": "0.0000295735295625",
        "cu ft": "0.028316846592",
        "ft3": "0.028316846592",
    },
    "share": {"%": "0.01"},
    "mass rate": {"kg/day": "1/86400", "kg/d": "1/86400", "kg/24 h": "1/86400", "lb/day": "0.45359237/86400", "lb/d": "0.45359237/86400", "kg/h": "1/3600"},
    "surface coefficient": {"W/m2K": "1", "W/m²K": "1", "W/(m2 K)": "1"},
    "viscosity": {"Pa s": "1", "P": "0.1", "poise": "0.1"},
    "degree days": {"°C d": "1", "C d": "1", "°F d": "5/9", "F d": "5/9"},
    "temperature difference": {"K": "1", "°C": "1", "C": "1", "°F": "5/9", "F": "5/9"},
    "count": {
        "": "1",
        "pieces": "1",
        "piece": "1",
        "frames": "1",
        "frame": "1",
        "jars": "1",
        "boxes": "1",
        "box": "1",
        "hives": "1",
        "packages": "1",
        "supers": "1",
    },
    "temperature": {"°C": "1", "C": "1", "°F": "5/9", "F": "5/9"},
}
_OFFSET = {"°F": Fraction(-160, 9), "F": Fraction(-160, 9)}
_SAMPLE = {
    "duration": '"12 h" or "45 min"',
    "length": '"32 mm" or "1.25 in"',
    "area": '"5 dm2" or "80 sq in"',
    "mass": '"1.5 kg" or "3 lb"',
    "volume": '"90 L" or "24 gal"',
    "share": '"17.4 %"',
    "mass rate": '"9 kg/day" or "20 lb/day"',
    "surface coefficient": '"8 W/m2K"',
    "viscosity": '"10 Pa s"',
    "degree days": '"85 °C d" or "153 °F d"',
    "temperature difference": '"2 K"',
    "count": '"24 pieces"',
    "temperature": '"21 °C" or "70 °F"',
}
_SHAPE = re.compile(r"^\s*(?P<sign>[-+−]?)\s*(?P<number>\d+(?:\.\d+)?|\.\d+)?\s*(?P<fraction>\d+/\d+)?\s*(?P<unit>[^\d\s].*?)?\s*$")
ABSOLUTE_ZERO = -273.15
LONGEST = 60  # characters of a quantity


@cache
def _factor(text: str) -> Fraction:
    top, _, bottom = text.partition("/")
    return Fraction(Decimal(top)) / (Fraction(Decimal(bottom)) if bottom else 1)


def with_article(dimension: str) -> str:
    """A dimension with its article, as messages name what is needed: "a mass", "an area", "a sum of degree days"."""
    return "a sum of degree days" if dimension == "degree days" else f"{'an' if dimension[0] in 'aeiou' else 'a'} {dimension}"


def dimensions() -> tuple[str, ...]:
    """The names of what can be measured here."""
    return tuple(_TABLE)


def looks_like_quantity(text: str) -> bool:
    """Whether a text has the shape "number unit" with a unit known here."""
    match = _SHAPE.match(text)
    return bool(match and (match["number"] or match["fraction"]) and any((match["unit"] or "") in units for units in _TABLE.values()))


@lru_cache(maxsize=4096)
def parse(text: str, dimension: str) -> float:
    """The SI number of a quantity such as "1 1/4 in"; raises `Fault` for a missing unit, another dimension or nonsense."""
    match = _SHAPE.match(text) if len(text) <= LONGEST else None
    sample = _SAMPLE[dimension]
    if not match or not (match["number"] or match["fraction"]):
        raise Fault(f'"{text[:LONGEST]}" is not {with_article(dimension)}', sample)
    number, fraction = match["number"], match["fraction"]
    if number and fraction and "." in number:
        raise Fault(f'"{text}" is not {with_article(dimension)}', sample)
    amount = Fraction(number or 0) + Fraction(fraction or 0) if not (fraction and fraction.endswith("/0")) else None
    if amount is None:
        raise Fault(f'"{text}" divides by zero', sample)
    if match["sign"] in ("-", "−"):
        amount = -amount
    unit = (match["unit"] or "").strip()
    if unit not in _TABLE[dimension]:
        raise Fault(*_wrong_unit(text, unit, number or "", dimension))
    value = amount * _factor(_TABLE[dimension][unit])
    if dimension == "temperature":
        value += _OFFSET.get(unit, Fraction(0))
        if value < Fraction(str(ABSOLUTE_ZERO)):
            raise Fault(f'"{text}" lies below absolute zero', sample)
    return float(value)


def _wrong_unit(text: str, unit: str, number: str, dimension: str) -> tuple[str, str]:
    units = [u for u in _TABLE[dimension] if u]
    if not unit:
        written = " or ".join(f'"{text.strip()} {u}"' for u in units[:2])
        return f"{text.strip()} has no unit; {with_article(dimension)} is needed", written
    other = next((name for name, table in _TABLE.items() if unit in table), None)
    if other:
        return f'"{text}" is {with_article(other)}; {with_article(dimension)} is needed here', _SAMPLE[dimension]
    return f'"{unit}" is not a unit of {dimension} known here', f"one of {', '.join(units)}, for example {_SAMPLE[dimension]}"


def _reader(dimension: str) -> Any:
    def read(value: Any) -> float:
        if isinstance(value, bool) or value is None:
            raise Fault(f"{with_article(dimension)} is needed", _SAMPLE[dimension])
        if isinstance(value, int | float) and dimension != "count":
            raise Fault(*_wrong_unit(str(value), "", "", dimension))
        return parse(str(value), dimension)

    return BeforeValidator(read)


def of(dimension: str) -> Any:
    """The pydantic type of a quantity written with its unit: `of("mass")` reads "3 lb" as kilograms."""
    return Annotated[float, _reader(dimension)]


Duration = Annotated[float, _reader("duration")]
Temperature = Annotated[float, _reader("temperature")]
TemperatureDifference = Annotated[float, _reader("temperature difference")]
Length = Annotated[float, _reader("length")]
Mass = Annotated[float, _reader("mass")]
Volume = Annotated[float, _reader("volume")]
Share = Annotated[float, _reader("share")]
MassRate = Annotated[float, _reader("mass rate")]
SurfaceCoefficient = Annotated[float, _reader("surface coefficient")]
Count = Annotated[float, _reader("count")]


_SHOWN = {
    "metric": {
        "temperature": ("°C", 1),
        "length": ("mm", 0),
        "mass": ("kg", 2),
        "volume": ("L", 1),
        "mass rate": ("kg/day", 1),
        "share": ("%", 1),
        "area": ("cm2", 0),
        "degree days": ("°C d", 0),
    },
    "us": {
        "temperature": ("°F", 0),
        "length": ("in", 2),
        "mass": ("lb", 2),
        "volume": ("gal", 2),
        "mass rate": ("lb/day", 1),
        "share": ("%", 1),
        "area": ("sq in", 0),
        "degree days": ("°F d", 0),
    },
}


def convert(value: float, dimension: str, unit: str) -> float:
    """An SI number in the given unit."""
    offset = float(_OFFSET.get(unit, Fraction(0))) if dimension == "temperature" else 0.0
    return (value - offset) / float(_factor(_TABLE[dimension][unit]))


def show(value: float, dimension: str, units: str = "metric") -> str:
    """An SI number for a person, in "metric" or "us" units, without trailing zeros; durations in hours and days."""
    if dimension == "duration":
        return show_duration(value)
    if dimension == "count":
        return f"{value:g}"
    unit, places = _SHOWN[units].get(dimension) or (next(iter(_TABLE[dimension])), 2)
    number = f"{convert(value, dimension, unit):.{places}f}"
    number = number.rstrip("0").rstrip(".") if "." in number else number
    return f"{'0' if number in ('-0', '') else number} {unit}"


_METRIC_WORDS = re.compile(r"(?<![\w.])(-?\d+(?:\.\d+)?) (°C d|°C|kg/day|kg|L|mm)(?![\w²/])")
_DIMENSION_OF = {"°C d": "degree days", "°C": "temperature", "kg/day": "mass rate", "kg": "mass", "L": "volume", "mm": "length"}


def words_in(text: str, units: str) -> str:
    """Words of an estimate, which are metric, with their quantities in a keeper's units."""
    if units == "metric":
        return text

    def told(found: re.Match[str]) -> str:
        if text.startswith(" colder", found.end()):
            return f"{float(found[1]) * 1.8:g} °F"  # a difference, which has no zero of its own
        dimension = _DIMENSION_OF[found[2]]
        return show(parse(found[0], dimension), dimension, units)

    return _METRIC_WORDS.sub(told, text)


def show_duration(seconds: float) -> str:
    """Elapsed time for a person: "45 min", "41 h", "6 d 3 h"."""
    if math.isinf(seconds):
        return "never"
    minutes = round(abs(seconds) / 60)
    sign = "-" if seconds < 0 and minutes else ""
    days, rest = divmod(minutes, 1440)
    hours, minutes = divmod(rest, 60)
    if days >= 4 or (days and not hours and not minutes):
        parts = [f"{days} d"] + ([f"{hours} h"] if hours else [])
    else:
        hours += 24 * days
        parts = ([f"{hours} h"] if hours else []) + ([f"{minutes} min"] if minutes or not hours else [])
    return sign + " ".join(parts)


class Estimate(NamedTuple):
    """A computed number with the range it may lie in and what it rests on.

    `value`, `low`, `high` are SI numbers (or shares, or a time in epoch seconds; `dimension` says which). `safe` names the end the plan uses.
    `refusal` is set, and the numbers are infinite, where the quantity does not exist: "air at -5 °C never kills moth".
    """

    value: float
    low: float
    high: float
    dimension: str
    basis: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()
    safe_end: str = "high"
    refusal: str | None = None

    @property
    def safe(self) -> float:
        """The end of the range that the plan uses."""
        return {"high": self.high, "low": self.low, "value": self.value}[self.safe_end]

    @classmethod
    def refused(cls, dimension: str, refusal: str, *, basis: tuple[str, ...] = (), sources: tuple[str, ...] = ()) -> Self:
        """The estimate of something that never comes about, with the reason in words."""
        return cls(math.inf, math.inf, math.inf, dimension, basis, sources, refusal=refusal)
