"""How rule files say their names aloud: "jars", "the lot's moisture", "this is the last pull", "egg hatch time", each with what it stands for."""

from __future__ import annotations

import re
from collections.abc import Container, Iterator, Mapping
from functools import lru_cache
from types import MappingProxyType
from typing import Final, NamedTuple

from scheduler.rules import vocabulary
from scheduler.rules.expression_tree import Called, Constant, Made, Name, Node, Whole
from scheduler.rules.vocabulary import NAMES, RuleName

YES_NO, WORD, TEMPERATURE = "yes or no", "word", "temperature"
_SIGNS = re.compile(r"""[&|!<>=?*{}\[\]"]|(?<!\w)'|'(?!s\b)|\w\.[A-Za-z_]|[A-Za-z_]\(|^\s*(?:true|false|null)\s*$| [+/-] """)
_OPENING = re.compile(r"the |it |smaller of |larger of |by frame |how often |there (?:is|are) |\(")
_JOINS = re.compile(r"\s(?:each|plus|less|divided|of|if|is|are|was|were|and|or)\s")


class Slot(NamedTuple):
    """What may be said after an estimate's name: its dimension, and what stands for it where nothing is said (None where it has to be)."""

    measures: str
    otherwise: Node | None = None


class SpokenEstimate(NamedTuple):
    """An estimate by its name in words: the function, what it is given (a word is the place that a card may say), and these places."""

    function: str
    given: tuple[Node | str | dict[str, Node | str], ...]
    slots: Mapping[str, Slot] = MappingProxyType({})

    def called(self, said: Mapping[str, Node], at: int = 0) -> Called:
        """The call, with what is said of its places."""

        def filled(one: Node | str) -> Node:
            return (said.get(one) or self.slots[one].otherwise or Constant(None, None, at)) if isinstance(one, str) else one

        given = (Made(tuple((key, filled(part)) for key, part in one.items()), at) if isinstance(one, dict) else filled(one) for one in self.given)
        return Called(self.function, tuple(given), at)


def _name(of: str, field: str) -> Name:
    return Name(of, field, NAMES[of][field].measures)


_LOT, _BATCH, _FREEZER, _ROOM = Whole("lot"), Whole("batch"), Whole("freezer"), Whole("room")
_WARMTH, _DAMP, _WATER = _name("room", "temperature"), _name("room", "humidity"), _name("lot", "moisture")
_AT, _TO = Slot(TEMPERATURE, _WARMTH), Slot(TEMPERATURE)

# The estimates by their names in words: the call, and what a card may say of each of its places.
ESTIMATES: Final[dict[str, SpokenEstimate]] = {
    "freeze hold": SpokenEstimate("freeze_hold", (_BATCH, _LOT, _FREEZER)),
    "thaw hold": SpokenEstimate("thaw_hold", (_LOT, _FREEZER, _ROOM, "of"), {"of": Slot("count", _name("lot", "packages"))}),
    "freeze comb hold": SpokenEstimate("freeze_comb_hold", ({"volume": "of", "mass": "with"}, _LOT, _FREEZER), {"of": Slot("volume"), "with": Slot("mass")}),
    "warm time": SpokenEstimate("warm_time", (_LOT, {"temperature": "at", "humidity": _DAMP}, "to"), {"at": _AT, "to": _TO}),
    "cool time": SpokenEstimate("cool_time", ("of", "from", "to", "at"), {"of": Slot("mass"), "from": _TO, "to": _TO, "at": _AT}),
    "drain time": SpokenEstimate("drain_time", ("at", "with"), {"at": _AT, "with": Slot("share", _WATER)}),
    "settle time": SpokenEstimate("settle_time", ("at", "with", _name("lot", "vessel_depth")), {"at": _AT, "with": Slot("share", _WATER)}),
    "temper time": SpokenEstimate("temper_time", (_LOT, _ROOM, "to"), {"to": _TO}),
    "bucket time": SpokenEstimate("bucket_time", (_name("lot", "bucket"), "from", "at", "to"), {"from": _AT, "at": _TO, "to": _TO}),
    "drying time": SpokenEstimate(
        "drying_time", (_WATER, _name("lot", "moisture_limit"), "at", "with", _name("lot", "capped")), {"at": _AT, "with": Slot("share", _DAMP)}
    ),
    "egg hatch time": SpokenEstimate("egg_hatch_time", ("at",), {"at": _AT}),
    "beetle time left": SpokenEstimate("beetle_time_left", (_LOT, "at", "with"), {"at": _AT, "with": Slot("share", _DAMP)}),
    "inspection interval": SpokenEstimate("inspection_interval", ("at",), {"at": Slot(TEMPERATURE, _name("store", "temperature"))}),
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


_COUNTED: Final = {name.said: _name(of, field) for of, field, name in _all_names() if name.said and name.measures == "count"}
NOUNS: Final = {_plural(noun): name for noun, name in _COUNTED.items()}
SINGULAR: Final = {_plural(noun): noun for noun in _COUNTED}
ONE_OF: Final = _COUNTED | {"one in the batch": _name("batch", "count")}
SENTENCES: Final = {
    sentence: (_name(of, field), denied)
    for of, field, name in _all_names()
    if name.said and name.measures == YES_NO
    for sentence, denied in ((name.said, False), (_denied(name.said), True))
}
"""What they ask, and whether they say the contrary."""
OWNED: Final[dict[str, Name | Called]] = {
    name.said if name.said and name.measures != "count" else f"the {of}'s {field.replace('_', ' ')}": _name(of, field)
    for of, field, name in _all_names()
    if not (name.said and name.measures == YES_NO)
} | {"the fermentation": Called("fermentation", (_WATER, _name("lot", "yeast")))}
FERMENTATION = ("safe", "at risk", "ferments", "unknown")


@lru_cache(maxsize=256)
def phrases(of: str, field: str) -> tuple[str, ...]:
    """How a name is said aloud, one way or several; the contrary of a yes or no among them."""
    name = _name(of, field)
    owned = (words for words, one in OWNED.items() if one == name)
    return (*(words for words, one in NOUNS.items() if one == name), *(words for words, (one, _) in SENTENCES.items() if one == name), *owned)


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
    """Whether a text is in words, and not a quantity, one parameter or an old expression."""
    plain = text.strip()
    return in_words(text) and bool(
        _OPENING.match(plain) or _JOINS.search(plain) or plain in NOUNS or plain in SENTENCES or any(plain.startswith(one) for one in ESTIMATES)
    )


def in_words(text: str) -> bool:
    """Whether a text has none of the signs of an old expression."""
    return not _SIGNS.search(_without_parameters(text))


def _without_parameters(text: str) -> str:
    """The text with the signs that may stand in a parameter's name blanked."""
    return re.sub(r"\$[\w' -]+", lambda found: re.sub(r"['-]", "_", found[0]), text)


def reads(expression: str, of: str, field: str) -> bool:
    """Whether an expression, in words or in the old way, reads a name such as `season.robbing`."""
    return vocabulary.reads(expression, of, field) or any(one in expression for one in phrases(of, field))
