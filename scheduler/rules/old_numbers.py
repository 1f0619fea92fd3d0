"""What rule files of version 0.1 compared with where nothing was known: -1, -99, and names that told whether another is known.

It is read for one more version, with a word about what to write; this module goes out with the version after.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any, Final

from scheduler.rules.vocabulary import FIELD

NUMBERS: Final[dict[str, dict[str, float]]] = {
    "lot": {"moisture": -1.0, "yeast": -1.0},
    "store": {"temperature": -99.0, "humidity": -1.0},
    "freezer": {"temperature": 0.0, "space": 0.0, "rated": -1.0, "surface": -1.0},
}
FLAGS: Final = {("lot", "moisture_known"): "moisture", ("store", "known"): "temperature", ("freezer", "known"): "temperature"}
RENAMED: Final = {("harvest", "sold"): ("yard", "sells"), ("lot", "honey_mass"): ("lot", "mass")}  # two names of one thing: the first goes
_EQUALS = re.compile(r"[!=]=\s*-\s*(?:1|99)(?:\.0+)?(?![\d.])")
_BEFORE, _AFTER = re.compile(r"[-<>=+*/%]\s*$"), re.compile(r"\s*(?:[<>+*/%-]|[!=]=(?!\s*null))")


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


def advice_on(text: str, *, shown: bool = False) -> Iterator[tuple[int, str, str]]:
    """What an expression is to ask otherwise from now on: the place in it, what is so, and what to write. What is only `shown` may be unknown."""
    for match in FIELD.finditer(text):
        of, field = match[2], match[3]
        if match[1]:
            continue
        if asked := FLAGS.get((of, field)):
            yield match.start(), f'"{of}.{field}" goes with the next version', f'"known({of}.{asked})"; the old way is read for one more version'
        elif now := RENAMED.get((of, field)):
            yield match.start(), f'"{of}.{field}" is called "{".".join(now)}" now', f'"{".".join(now)}"; the old name is read for one more version'
        elif field in NUMBERS.get(of, {}) and _is_number(text, match, shown) and not _is_asked(text, of, field):
            write = f'"known({of}.{field}) && ..." or "!known({of}.{field})"; the old way is read for one more version'
            yield match.start(), f'"{of}.{field}" is no number while it is not known: a number such as -1 stood for that', write


def _is_number(text: str, match: re.Match[str], shown: bool) -> bool:
    """Whether it is compared or reckoned with, or is the whole amount."""
    return bool(_BEFORE.search(text[: match.start()]) or _AFTER.match(text, match.end())) or (text.strip() == match[0] and not shown)


def _is_asked(text: str, of: str, field: str) -> bool:
    """Whether the expression asks somewhere if it is known."""
    flags = (rf"{of}\.{flag}\b" for (variable, flag), asked in FLAGS.items() if (variable, asked) == (of, field))
    asking = (rf"known\(\s*{of}\.{field}\s*\)", rf"{of}\.{field}\s*[!=]=\s*null", *flags)
    return any(re.search(pattern, text) for pattern in asking)
