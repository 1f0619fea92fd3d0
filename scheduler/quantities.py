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

_BTU = "9495.50267358/1672.25472"  # W/m²K in 1 Btu/h ft² °F: 1055.05585262 J, 0.09290304 m², 5/9 K
_R = "1672.25472/9495.50267358"  # m²K/W in 1 h ft² °F/Btu
_TABLE: dict[str, dict[str, str]] = {
    "duration": {
        **dict.fromkeys(("s", "sec", "second", "seconds"), "1") | dict.fromkeys(("min", "mins", "minute", "minutes"), "60"),
        **dict.fromkeys(("h", "hr", "hrs", "hour", "hours"), "3600"),
        **{"d": "86400", "day": "86400", "days": "86400", "week": "604800", "weeks": "604800"},
    },
    "length": {"mm": "0.001", "m": "1", "cm": "0.01", "dm": "0.1", "in": "0.0254", "ft": "0.3048", "yd": "0.9144", "µm": "0.000001", "um": "0.000001"},
    "area": {"m2": "1", "cm2": "0.0001", "dm2": "0.01", "sq in": "0.00064516", "sq ft": "0.09290304"},
    "mass": {"kg": "1", "g": "0.001", "lb": "0.45359237", "oz": "0.028349523125"},
    "volume": {
        "m3": "1",
        "m³": "1",
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
    "surface coefficient": {"W/m2K": "1", "W/m²K": "1", "W/(m2 K)": "1", "Btu/h ft2 °F": _BTU, "Btu/h ft² °F": _BTU, "Btu/h ft2 F": _BTU},
    "thermal resistance": {"m2K/W": "1", "m²K/W": "1", "h ft2 °F/Btu": _R, "h ft² °F/Btu": _R},
    "viscosity": {"Pa s": "1", "P": "0.1", "poise": "0.1"},
    "density": {"kg/m3": "1", "kg/m³": "1", "lb/cu ft": "0.45359237/0.028316846592"},
    "power": {"W": "1"},
    "degree days": {"°C d": "1", "C d": "1", "°F d": "5/9", "F d": "5/9"},
    "temperature difference": {"K": "1", "°C": "1", "C": "1", "°F": "5/9", "F": "5/9"},
    "count": dict.fromkeys(("", "pieces", "piece", "frames", "frame", "jars", "boxes", "box", "hives", "packages", "supers"), "1"),
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
    "thermal resistance": '"0.16 m2K/W"',
    "viscosity": '"10 Pa s"',
    "density": '"150 kg/m3"',
    "power": '"50 W"',
    "degree days": '"85 °C d" or "153 °F d"',
    "temperature difference": '"2 K"',
    "count": '"24 pieces"',
    "temperature": '"21 °C" or "70 °F"',
}
_USUAL = {"duration": ("h", "min"), "temperature": ("°C", "°F"), "temperature difference": ("K", "°F"), "mass": ("kg", "lb"), "volume": ("L", "gal")}
_PARTS = re.compile(r"\d+ ?[a-z]+(?: \d+ ?[a-z]+)+")  # "1 h 30 min"
_SHAPE = re.compile(r"^\s*(?P<sign>[-+−]?)\s*(?P<number>\d+(?:\.\d+)?|\.\d+)?\s*(?P<fraction>\d+/\d+)?\s*(?P<unit>[^\d\s].*?)?\s*$")
_ALSO = ("sec", "second", "seconds", "mins", "hr", "hrs")  # read, and named in no message
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
        if dimension == "duration" and _PARTS.fullmatch(text.strip()) and " to " not in text:
            return math.fsum(parse(part, dimension) for part in re.findall(r"\d+ ?[a-z]+", text))
        raise Fault(*_wrong_unit(text, unit, number or "", dimension))
    value = amount * _factor(_TABLE[dimension][unit])
    if dimension == "temperature":
        value += _OFFSET.get(unit, Fraction(0))
        if value < Fraction(str(ABSOLUTE_ZERO)):
            raise Fault(f'"{text}" lies below absolute zero', sample)
    return float(value)


def _wrong_unit(text: str, unit: str, number: str, dimension: str) -> tuple[str, str]:
    units = [u for u in _TABLE[dimension] if u and u not in _ALSO]
    if found := re.fullmatch(r"to (\S+) ?(.*)", unit):
        return f'"{text.strip()}" is a range; one amount is needed', f'"{found[1]} {found[2]}", or "{number} {found[2]}"'
    if not unit:
        written = " or ".join(f'"{text.strip()} {u}"' for u in _USUAL.get(dimension, units[:2]))
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
Length = Annotated[float, _reader("length")]
Mass = Annotated[float, _reader("mass")]
Share = Annotated[float, _reader("share")]
Count = Annotated[float, _reader("count")]


_ONLY_SHOWN = {  # what nobody writes in a file
    "conductivity": {"W/mK": "1", "Btu/h ft °F": "9495.50267358/5486.4"},
    "heat capacity": {"J/kgK": "1", "Btu/lb °F": "4186.8"},
    "specific heat": {"kJ/kg": "1000", "Btu/lb": "2326"},
}
_MEASURED_AS = {"height": "length", "space": "volume"}  # shown in units of their own: of a stack and a tank, of a freezer
_SHOWN = {  # unit and decimals
    "metric": {
        "temperature": ("°C", 1),
        "temperature difference": ("°C", 1),
        "length": ("mm", 0),
        "height": ("cm", 1),
        "mass": ("kg", 2),
        "volume": ("L", 1),
        "space": ("L", 1),
        "mass rate": ("kg/day", 1),
        "share": ("%", 1),
        "area": ("cm2", 0),
        "degree days": ("°C d", 0),
        "surface coefficient": ("W/m²K", 2),
        "thermal resistance": ("m²K/W", 4),
        "density": ("kg/m³", 0),
        "specific heat": ("kJ/kg", 0),
        "heat capacity": ("J/kgK", 0),
        "power": ("W", 0),
    },
    "us": {
        "temperature": ("°F", 0),
        "temperature difference": ("°F", 1),
        "length": ("in", 2),
        "height": ("in", 1),
        "mass": ("lb", 1),
        "volume": ("gal", 1),
        "space": ("cu ft", 1),
        "mass rate": ("lb/day", 1),
        "share": ("%", 1),
        "area": ("sq in", 0),
        "degree days": ("°F d", 0),
        "surface coefficient": ("Btu/h ft² °F", 2),
        "thermal resistance": ("h ft² °F/Btu", 3),
        "conductivity": ("Btu/h ft °F", 2),
        "density": ("lb/cu ft", 1),
        "specific heat": ("Btu/lb", 0),
        "heat capacity": ("Btu/lb °F", 2),
        "power": ("W", 0),
    },
}
_SCALES = {  # from how much on another unit or other decimals are read: a scale shows ounces, then tenths, then whole pounds
    ("us", "mass"): ((0.0, "oz", 1), (0.45359237, "lb", 1), (9.07, "lb", 0)),
    ("us", "volume"): ((0.0, "fl oz", 1), (0.000946352946, "qt", 1), (0.003785411784, "gal", 1)),
    ("us", "length"): ((0.0, "in", 2), (3.048, "ft", 0)),
    ("metric", "length"): ((0.0, "mm", 0), (3.0, "m", 1)),
}


def convert(value: float, dimension: str, unit: str) -> float:
    """An SI number in the given unit."""
    factor, offset = _line(dimension, unit)
    return (value - offset) / factor


@cache
def _line(dimension: str, unit: str) -> tuple[float, float]:
    """Factor and offset of a unit as floats."""
    return float(_factor(_units(dimension)[unit])), float(_OFFSET.get(unit, Fraction(0))) if dimension == "temperature" else 0.0


def _units(dimension: str) -> dict[str, str]:
    return _TABLE.get(_MEASURED_AS.get(dimension, dimension)) or _ONLY_SHOWN[dimension]


@lru_cache(maxsize=2048)
def show(value: float, dimension: str, units: str = "metric") -> str:
    """An SI number for a person, in "metric" or "us" units, as a scale or a thermometer shows it; durations in hours and days."""
    if dimension == "duration":
        return show_duration(value)
    if dimension == "count":
        return f"{value:g}"
    unit, places = _SHOWN[units].get(dimension) or (next(iter(_units(dimension))), 2)
    for least, scale, decimals in _SCALES.get((units, dimension), ()):
        if abs(value) >= least * (1 - 1e-9):
            unit, places = scale, decimals
    shown = convert(value, dimension, unit)
    if dimension != "temperature" and 0 < abs(shown) < 0.5 * 10**-places:
        places = -math.floor(math.log10(abs(shown)))  # never nothing where there is something
    number = f"{shown:.{places}f}"
    number = number.rstrip("0").rstrip(".") if "." in number else number
    return f"{'0' if number in ('-0', '') else number} {unit}"


_US = {
    "kg": "lb", "g": "oz", "mm": "in", "cm": "in", "dm": "in", "m": "ft", "L": "gal", "l": "gal", "mL": "fl oz", "ml": "fl oz", "m3": "cu ft", "m³": "cu ft",
    "m2": "sq ft", "dm2": "sq in", "cm2": "sq in", "°C": "°F", "C": "°F", "K": "°F", "°C d": "°F d", "C d": "°F d", "kg/day": "lb/day", "kg/d": "lb/day",
    "W/m2K": "Btu/h ft² °F", "W/m²K": "Btu/h ft² °F",
}  # fmt: skip
_METRIC = {
    "lb": "kg", "oz": "g", "in": "mm", "ft": "m", "yd": "m", "gal": "L", "qt": "L", "pt": "mL", "fl oz": "mL", "cu ft": "L", "ft3": "L", "sq in": "cm2",
    "sq ft": "m2", "°F": "°C", "F": "°C", "°F d": "°C d", "F d": "°C d", "lb/day": "kg/day", "lb/d": "kg/day",
}  # fmt: skip


@lru_cache(maxsize=1024)
def reworded(text: str, units: str) -> str:
    """A quantity or a range as an author wrote it ("27 kg", "4 to 15 °C") in a reader's units: as written where its unit is theirs.

    Else to as many digits as were written, two at least; temperatures as a thermometer shows them. Raises `Fault`.
    """
    low, _, high = text.rpartition(" to ")
    found = _SHAPE.match(high)
    unit = ((found["unit"] if found else None) or "").strip()
    dimension = next((name for name in ("temperature", *_TABLE) if unit in _TABLE[name]), None)
    if not found or not (found["number"] or found["fraction"]) or dimension is None:
        raise Fault(f'"{text}" is not a quantity known here', '"27 kg", or a range such as "4 to 15 °C"')
    other = (_US if units == "us" else _METRIC).get(unit)
    written = [*([low] if low else []), high.strip().removesuffix(unit)]
    values = [parse(f"{number} {unit}", dimension) for number in written]
    if other is None:
        return text.strip()
    numbers = [_rounded(convert(value, dimension, other), dimension, number) for value, number in zip(values, written, strict=True)]
    return f"{' to '.join(numbers)} {other}"


def _rounded(value: float, dimension: str, written: str) -> str:
    if dimension == "temperature" or value == 0:
        return f"{value:.0f}".replace("-0", "0") if abs(value) < 0.5 else f"{value:.0f}"
    digits = max(2, sum(sign.isdigit() for sign in written))
    return f"{round(value, digits - 1 - math.floor(math.log10(abs(value)))):.10g}"


def show_duration(seconds: float) -> str:
    """Elapsed time for a person: minutes under two hours, hours under two days, then days: "95 min", "41 h 20 min", "6 d 3 h"."""
    if math.isinf(seconds):
        return "never"
    minutes = round(abs(seconds) / 60)
    sign = "-" if seconds < 0 and minutes else ""
    if minutes >= 2 * 24 * 60 or minutes == 24 * 60:
        days, hours = divmod(round(minutes / 60), 24)
        return f"{sign}{days} d" + (f" {hours} h" if hours else "")
    if minutes < 2 * 60 and minutes != 60:
        return f"{sign}{minutes} min"
    hours, minutes = divmod(minutes, 60)
    return f"{sign}{hours} h" + (f" {minutes} min" if minutes else "")


class Quantity(NamedTuple):
    """An SI number with its dimension: one of `dimensions()`, or "moment" (seconds since 1970 UTC)."""

    value: float
    dimension: str


class Statement(NamedTuple):
    """What is to be told, before it has words: its kind, and by name the quantities and names it speaks of.

    Values are quantities, texts that a person wrote, numbers, dates, and statements inside this one; `scheduler.outputs.wording` has the words.
    """

    kind: str
    values: tuple[tuple[str, Any], ...] = ()

    def get(self, name: str) -> Any:
        """The value of a name; None where the statement does not speak of it."""
        return dict(self.values).get(name)


Words = str | Statement  # as somebody wrote it; a statement where the program has more to say with it


def celsius(value: float) -> Quantity:
    """A temperature [°C]."""
    return Quantity(value, "temperature")


def warmer(value: float) -> Quantity:
    """A difference of two temperatures [K]."""
    return Quantity(value, "temperature difference")


def elapsed(value: float) -> Quantity:
    """A duration [s]."""
    return Quantity(value, "duration")


def instant(at: int) -> Quantity:
    """A moment [s since 1970 UTC]."""
    return Quantity(at, "moment")


def kilograms(value: float) -> Quantity:
    """A mass [kg]."""
    return Quantity(value, "mass")


def percent(value: float) -> Quantity:
    """A share of one, told in percent."""
    return Quantity(value, "share")


def say(kind: str, /, **values: Any) -> Statement:
    """A statement of a kind: `say("late", by=Quantity(3600, "duration"))`."""
    return Statement(kind, tuple(values.items()))


class Estimate(NamedTuple):
    """A computed number with the range it may lie in and what it rests on.

    `value`, `low`, `high` are SI numbers (or shares, or a time in epoch seconds; `dimension` says which). `safe` names the end the plan uses.
    `refusal` is set, and the numbers are infinite, where the quantity does not exist: "air at -5 °C never kills moth".
    """

    value: float
    low: float
    high: float
    dimension: str
    basis: tuple[Statement, ...] = ()
    sources: tuple[str, ...] = ()
    safe_end: str = "high"
    refusal: Statement | None = None

    @property
    def safe(self) -> float:
        """The end of the range that the plan uses."""
        return {"high": self.high, "low": self.low, "value": self.value}[self.safe_end]

    @classmethod
    def refused(cls, dimension: str, refusal: Statement, *, basis: tuple[Statement, ...] = (), sources: tuple[str, ...] = ()) -> Self:
        """The estimate of something that never comes about, with the reason."""
        return cls(math.inf, math.inf, math.inf, dimension, basis, sources, refusal=refusal)
