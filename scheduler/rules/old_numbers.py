"""What rule files of version 0.1 compared with where nothing was known: -1, -99, and names that told whether another is known.

It is read for one more version, with a word about what to write (`said_anew.py`); this module goes out with the version after.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, Final

NUMBERS: Final[dict[str, dict[str, float]]] = {
    "lot": {"moisture": -1.0, "yeast": -1.0},
    "store": {"temperature": -99.0, "humidity": -1.0},
    "freezer": {"temperature": 0.0, "space": 0.0, "rated": -1.0, "surface": -1.0},
}
FLAGS: Final = {("lot", "moisture_known"): "moisture", ("store", "known"): "temperature", ("freezer", "known"): "temperature"}
RENAMED: Final = {("harvest", "sold"): ("yard", "sells"), ("lot", "honey_mass"): ("lot", "mass")}  # two names of one thing: the first goes
_EQUALS = re.compile(r"[!=]=\s*-\s*(?:1|99)(?:\.0+)?(?![\d.])")


def compares_with_one(text: str) -> bool:
    """Whether an expression asks for such a number with == or !=, which gives an answer for null too, but another one."""
    return bool(_EQUALS.search(text))


def with_old_numbers(names: Mapping[str, Any]) -> dict[str, Any]:
    """The names of an expression as version 0.1 gave them."""
    found = {}
    for of, fields in names.items():
        flags = {flag: fields.get(asked) is not None for (variable, flag), asked in FLAGS.items() if variable == of}
        numbers = {field: number for field, number in NUMBERS.get(of, {}).items() if fields.get(field) is None}
        again = {old: names[now][asked] for (variable, old), (now, asked) in RENAMED.items() if variable == of and asked in names.get(now, {})}
        found[of] = {**fields, **numbers, **flags, **again} if numbers or flags or again else fields
    return found
