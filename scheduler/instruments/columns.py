"""Which column is the time, which the reading, by their names or as told; where several could be, the keeper is asked."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Literal

from scheduler.diagnostics import instead
from scheduler.instruments.text import Unread, plain

Kind = Literal["freezer", "store", "scale", "weather"]
LOGS: tuple[Kind, ...] = ("freezer", "store")  # read by the hour, in rows of one temperature

# expressions, compiled when the first is searched for: most commands read no table, and none waits for them at its start
_BOTH = r"\b(date ?time|time ?stamp|epoch|unix|datum zeit|date time|time date|zeitstempel|datum uhrzeit|recorded at|created at|logged at|zeitpunkt|moment)\b"
_DATE = r"\b(date|datum|day|tag|fecha|jour|dt)\b"
_TIME = r"\b(time|uhrzeit|zeit|hora|heure|clock)\b"
_NO_TIME = r"\b(elapsed|duration|interval|since|remaining|zone|count|number|unit|of week)\b"
_TEMPERATURE = r"\b(t|temps?|temperatures?|temperatur|temperatura|celsius|fahrenheit|deg ?[cf])\b|°"
_NO_TEMPERATURE = r"\b(humid\w*|rh|dew|set ?point|alarm|limit|min\w*|max\w*|low\w*|high\w*|avg|average|mean|battery|units?|threshold|einheit|status)\b"
_NEUTRAL = r"\b(value|reading|wert|messwert|probe|sensor|channel|ch ?\d*)\b"
_MASS = r"\b(mass|weight|gewicht|scale|kgs?|lbs?|pounds?|kilograms?|grams?|poids|peso|gross)\b"
_NO_MASS = r"\b(change|delta|gain|diff\w*|tare|alarm|battery|units?|einheit|id|no|nr|number|serial|name|count|temps?|temperatures?|status|rate)\b"
_LOW = r"\b(t ?min|temp(erature)? ?min|min(imum)?|low(est)?|tn|tmin)\b"
_HIGH = r"\b(t ?max|temp(erature)? ?max|max(imum)?|high(est)?|tx|tmax)\b"
_NO_EXTREME = r"\b(humid\w*|rh|dew|wind|gust|pressure|rain\w*|uv|soil|units?|quality|flag|time)\b"
_UNITS = r"\b(units?|einheit)\b"
_WHOSE = r"(hives?|scale|device|sensor|logger|station|serial|probe)( (id|no|nr|number|name|serial))?|id|name|serial number"


def _found(names: Sequence[str], wanted: str, but: str) -> list[int]:
    spoken = [(number, plain(name) + ("°" if "°" in name else "")) for number, name in enumerate(names)]
    return [number for number, name in spoken if re.search(wanted, name) and not re.search(but, name)]


def times(names: Sequence[str], told: Sequence[str] = ()) -> list[list[int]]:
    """Each way to read the time: one column, or a column of the date and one of the time of day."""
    if told:
        return [[list(names).index(name) for name in told]] if all(name in names for name in told) else []
    both = _found(names, _BOTH, _NO_TIME)
    if both:
        return [[number] for number in both]
    days, clocks = _found(names, _DATE, _NO_TIME), _found(names, _TIME, _NO_TIME)
    alone = [number for number in clocks if number not in days]
    if len(days) == 1 and len(alone) == 1:
        return [[days[0], alone[0]]]
    return [[number] for number in dict.fromkeys((*days, *alone))]


def readings(names: Sequence[str], kind: Kind, told: Sequence[str] = (), *, besides: Sequence[int] = (), lenient: bool = False) -> list[list[int]]:
    """Each way to read what was measured: one column, or of the weather the lowest and the highest."""
    if told:
        return [[list(names).index(name) for name in told]] if all(name in names for name in told) else []
    if kind == "weather":
        lows, highs = _found(names, _LOW, _NO_EXTREME), _found(names, _HIGH, _NO_EXTREME)
        if lows or highs:
            return [[low, high] for low in lows for high in highs]
    wanted, but = (_MASS, _NO_MASS) if kind == "scale" else (_TEMPERATURE, _NO_TEMPERATURE)
    found = [number for number in _found(names, wanted, but) if number not in besides]
    if not found:
        found = [number for number in _found(names, _NEUTRAL, _NO_MASS if kind == "scale" else _NO_TEMPERATURE) if number not in besides]
        found = found if len(found) == 1 else []
    if not found and lenient and kind == "scale":  # as it was read once
        found = [number for number, name in enumerate(names) if plain(name).startswith("hive")]
    return [[number] for number in found]


def units_column(names: Sequence[str], besides: Sequence[int]) -> int | None:
    """The one column that has the unit of each row; None where there is none."""
    found = [number for number, name in enumerate(names) if re.search(_UNITS, plain(name)) and number not in besides]
    return found[0] if len(found) == 1 else None


def owners(names: Sequence[str], besides: Sequence[int]) -> list[int]:
    """The columns that name the hive, the scale or the sensor of a row."""
    return [number for number, name in enumerate(names) if re.fullmatch(_WHOSE, plain(name)) and number not in besides]


_WHAT = {"freezer": "the temperature", "store": "the temperature", "scale": "the mass", "weather": "the lowest and highest temperature"}
_SUCH = {"freezer": "time,temperature °C", "store": "time,temperature °C", "scale": "date,mass kg", "weather": "date,tmin °C,tmax °C"}


def one_of(ways: list[list[int]], names: Sequence[str], line: int, what: str, option: str, told: Sequence[str], kind: Kind, *, lenient: bool) -> list[int]:
    """The one way there is. Raises `Unread` where none or several are, or what was told is none of the names."""
    if len(ways) == 1 or (ways and lenient):
        return ways[0]
    missing = next((name for name in told if name not in names), None)
    if missing is not None:
        raise Unread(line, 1, f'there is no column "{missing}" for {what}', instead(missing, names))
    if not ways:
        cure = f"{option} with the name of the column, or a first line such as: {_SUCH[kind]}"
        raise Unread(line, 1, f"no column could be {what}; this line names: {', '.join(names)}", cure)
    several = [" and ".join(f'"{names[number]}"' for number in way) for way in ways]
    cures = " or ".join(" ".join(f"{option} '{names[number]}'" for number in way) for way in ways[:4])
    raise Unread(line, 1, f"{len(ways)} columns could be {what}: {', '.join(several)}", cures)


def what_is_measured(kind: Kind) -> str:
    """In words: what a file of a kind is read for."""
    return _WHAT[kind]
