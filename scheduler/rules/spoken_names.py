"""How rule files say their names aloud: "jars", "the lot's moisture", "this is the last pull", "egg hatch time", each with what it is in CEL."""

from __future__ import annotations

import re
from collections.abc import Container, Iterator
from functools import lru_cache
from typing import Final, NamedTuple

from scheduler.rules import vocabulary
from scheduler.rules.vocabulary import NAMES, RuleName

YES_NO, WORD, TEMPERATURE = "yes or no", "word", "temperature"
_SIGNS = re.compile(r"""[&|!<>=?*{}\[\]"]|(?<!\w)'|'(?!s\b)|\w\.[A-Za-z_]|[A-Za-z_]\(|^\s*(?:true|false|null)\s*$| [+/-] """)
_OPENING = re.compile(r"the |it |smaller of |larger of |by frame |how often |there (?:is|are) |\(")
_JOINS = re.compile(r"\s(?:each|plus|less|divided|of|if|is|are|was|were|and|or)\s")


class Slot(NamedTuple):
    """What may be said after an estimate's name: its dimension, and what stands for it where nothing is said ("" where it has to be)."""

    measures: str
    otherwise: str = ""


# The estimates by their names in words: the call, and what a card may say of each of its places.
ESTIMATES: Final[dict[str, tuple[str, dict[str, Slot]]]] = {
    "freeze hold": ("freeze_hold(batch, lot, freezer)", {}),
    "thaw hold": ("thaw_hold(lot, freezer, room, {of})", {"of": Slot("count", "lot.packages")}),
    "freeze comb hold": ("freeze_comb_hold({{'volume': {of}, 'mass': {with}}}, lot, freezer)", {"of": Slot("volume"), "with": Slot("mass")}),
    "warm time": (
        "warm_time(lot, {{'temperature': {at}, 'humidity': room.humidity}}, {to})",
        {"at": Slot(TEMPERATURE, "room.temperature"), "to": Slot(TEMPERATURE)},
    ),
    "cool time": (
        "cool_time({of}, {from}, {to}, {at})",
        {"of": Slot("mass"), "from": Slot(TEMPERATURE), "to": Slot(TEMPERATURE), "at": Slot(TEMPERATURE, "room.temperature")},
    ),
    "drain time": ("drain_time({at}, {with})", {"at": Slot(TEMPERATURE, "room.temperature"), "with": Slot("share", "lot.moisture")}),
    "settle time": ("settle_time({at}, {with}, lot.vessel_depth)", {"at": Slot(TEMPERATURE, "room.temperature"), "with": Slot("share", "lot.moisture")}),
    "temper time": ("temper_time(lot, room, {to})", {"to": Slot(TEMPERATURE)}),
    "bucket time": (
        "bucket_time(lot.bucket, {from}, {at}, {to})",
        {"from": Slot(TEMPERATURE, "room.temperature"), "at": Slot(TEMPERATURE), "to": Slot(TEMPERATURE)},
    ),
    "drying time": (
        "drying_time(lot.moisture, lot.moisture_limit, {at}, {with}, lot.capped)",
        {"at": Slot(TEMPERATURE, "room.temperature"), "with": Slot("share", "room.humidity")},
    ),
    "egg hatch time": ("egg_hatch_time({at})", {"at": Slot(TEMPERATURE, "room.temperature")}),
    "beetle time left": (
        "beetle_time_left(lot, {at}, {with})",
        {"at": Slot(TEMPERATURE, "room.temperature"), "with": Slot("share", "room.humidity")},
    ),
    "inspection interval": ("inspection_interval({at})", {"at": Slot(TEMPERATURE, "store.temperature")}),
}


def _plural(noun: str) -> str:
    return noun + ("es" if noun.endswith("x") else "s")


def _denied(sentence: str) -> str:
    """The sentence that says the contrary."""
    for so, not_so in (("there is ", "there is no "), (" has a ", " has no "), (" knows ", " does not know "), (" sells", " does not sell")):
        if so in sentence or sentence.startswith(so):
            return sentence.replace(so, not_so, 1)
    if sentence.startswith(("a ", "more ")):
        return f"no {sentence.removeprefix('a ')}"
    return re.sub(r" (is|are|was) ", r" \1 not ", sentence, count=1)


def _all_names() -> Iterator[tuple[str, str, RuleName]]:
    for of, fields in NAMES.items():
        for field, name in fields.items():
            yield of, field, name


NOUNS: Final = {_plural(name.said): f"{of}.{field}" for of, field, name in _all_names() if name.said and name.measures == "count"}
SINGULAR: Final = {_plural(name.said): name.said for _, _, name in _all_names() if name.said and name.measures == "count"}
ONE_OF: Final = {name.said: f"{of}.{field}" for of, field, name in _all_names() if name.said and name.measures == "count"} | {"one in the batch": "batch.count"}
SENTENCES: Final = {
    sentence: cel
    for of, field, name in _all_names()
    if name.said and name.measures == YES_NO
    for sentence, cel in ((name.said, f"{of}.{field}"), (_denied(name.said), f"!{of}.{field}"))
}
OWNED: Final = {
    name.said if name.said and name.measures != "count" else f"the {of}'s {field.replace('_', ' ')}": (f"{of}.{field}", name.measures)
    for of, field, name in _all_names()
    if not (name.said and name.measures == YES_NO)
} | {"the fermentation": ("fermentation(lot.moisture, lot.yeast)", WORD)}
FERMENTATION = ("safe", "at risk", "ferments", "unknown")


@lru_cache(maxsize=256)
def phrases(of: str, field: str) -> tuple[str, ...]:
    """How a name is said aloud, one way or several; the contrary of a yes or no among them."""
    cel = f"{of}.{field}"
    return tuple(
        words for table in (NOUNS, SENTENCES, {words: one for words, (one, _) in OWNED.items()}) for words, one in table.items() if one.lstrip("!") == cel
    )


_NAME = re.compile(r"\s*[\w'-]+")
_LONGEST: Final = max(len(name.split()) for table in (NOUNS, ONE_OF, SENTENCES, OWNED, ESTIMATES) for name in table)


def longest(table: Container[str], text: str, at: int) -> tuple[str, int] | None:
    """The longest name of a table that stands at a place of a text, and where it ends; None where none does."""
    words: list[tuple[str, int]] = []
    while len(words) < _LONGEST and (word := _NAME.match(text, at)):
        at = word.end()
        words.append((f"{words[-1][0]} {word[0].strip()}" if words else word[0].strip(), at))
    return next((one for one in reversed(words) if one[0] in table), None)


def worded(text: str) -> bool:
    """Whether a text is in words, and not a quantity, one parameter or CEL."""
    plain = text.strip()
    return in_words(text) and bool(
        _OPENING.match(plain) or _JOINS.search(plain) or plain in NOUNS or plain in SENTENCES or any(plain.startswith(one) for one in ESTIMATES)
    )


def in_words(text: str) -> bool:
    """Whether a text has none of the signs of CEL."""
    return not _SIGNS.search(_without_parameters(text))


def _without_parameters(text: str) -> str:
    """The text with the signs that may stand in a parameter's name blanked."""
    return re.sub(r"\$[\w' -]+", lambda found: re.sub(r"['-]", "_", found[0]), text)


def reads(expression: str, of: str, field: str) -> bool:
    """Whether an expression, in words or in CEL, reads a name such as `season.robbing`."""
    return vocabulary.reads(expression, of, field) or any(one in expression for one in phrases(of, field))
