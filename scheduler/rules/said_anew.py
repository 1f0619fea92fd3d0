"""What an expression of version 0.1 is in words now: `lot.packages > 0.0 && yard.sells` is "there are packages and the yard sells".

Whoever still has such a file is told this with its line; the module goes out with the version after, as `old_expressions` does.
"""

from __future__ import annotations

from collections.abc import Mapping

from scheduler.diagnostics import Fault
from scheduler.quantities import parse
from scheduler.rules.expression_tree import (
    Called,
    Choice,
    Compared,
    Constant,
    Denied,
    Extreme,
    IsKnown,
    Joined,
    Made,
    Name,
    NamedNumber,
    Node,
    Reckoned,
    Rounded,
    Spelt,
    parts_of,
)  # fmt: skip
from scheduler.rules.grammar import read_words
from scheduler.rules.old_expressions import NUMBER
from scheduler.rules.old_numbers import FLAGS, NUMBERS, RENAMED
from scheduler.rules.spoken_names import ESTIMATES, NOUNS, ONE_OF, OWNED, SENTENCES, WORD, YES_NO, phrases

_UNITS: Mapping[str, tuple[tuple[str, float], ...]] = {
    "duration": (("d", 86_400.0), ("h", 3600.0), ("min", 60.0), ("s", 1.0)),
    "share": (("%", 0.01),),
    "volume": (("L", 0.001),),
    "length": (("m", 1.0),),
    "mass": (("kg", 1.0),),
    "temperature": (("°C", 1.0),),
    "temperature difference": (("K", 1.0),),
}
_COMPARED = {">=": "at least", "<=": "at most", ">": "more than", "<": "less than"}
_TURNED = {">=": "<=", "<=": ">=", ">": "<", "<": ">", "==": "==", "!=": "!="}
_CONTRARY = {">=": "<", "<=": ">", ">": "<=", "<": ">=", "==": "!=", "!=": "=="}


class _NoForm(Exception):
    """No form says this."""


def said_anew(tree: Node, needs: str | None, parameters: Mapping[str, str | None]) -> str | None:
    """A tree in words, where a condition ("yes or no") or an amount of a dimension is needed; None where no form says it."""
    guarded = {(part.part.of, part.part.field) for part in parts_of(tree) if isinstance(part, IsKnown) and isinstance(part.part, Name)}
    said = _Said(guarded)
    try:
        words = said.condition(tree) if needs == YES_NO else said.amount(tree, needs)
        words = _without_brackets(words)
        read_words(words, parameters, "condition" if needs == YES_NO else "amount")
    except (_NoForm, Fault):
        return None
    return words


def shown_anew(tree: Node, dimension: str | None, parameters: Mapping[str, str | None]) -> str | None:
    """What stands between braces as words with places, braces and all; None where no form says it."""
    if dimension:
        return f"{{{dimension}: {words}}}" if (words := said_anew(tree, dimension, parameters)) else None
    try:
        return _shown(tree, parameters)
    except _NoForm:
        return None


def _without_brackets(words: str) -> str:
    """The words without brackets round the whole of them."""
    depth = 0
    for at, sign in enumerate(words):
        depth += (sign == "(") - (sign == ")")
        if not depth:
            return words[1:-1] if words[0] == "(" and at == len(words) - 1 else words
    return words


def name_anew(name: Name, *, shown: bool) -> tuple[str, str] | None:
    """What is so of a name that stands alone, and what to write; None of one that stays. What is only `shown` may be unknown."""
    whole = f"{name.of}.{name.field}"
    if now := RENAMED.get((name.of, name.field)):
        return f'"{whole}" is called "{".".join(now)}" now', f'"{".".join(now)}"'
    if asked := FLAGS.get((name.of, name.field)):
        return f'"{whole}" goes with the next version', f'"{{if {phrases(name.of, asked)[0]} is known: yes; otherwise: no}}"'
    if name.field in NUMBERS.get(name.of, {}) and not shown:
        number = "a number such as -1 stood for that"
        return f'"{whole}" is no number while it is not known: {number}', f'"{phrases(name.of, name.field)[0]} if it is known, otherwise $NAME"'
    return None


def names_said(tree: Node) -> str:
    """How each name in a tree is said, for who writes the words: 'lot.mass is "the lot's mass"'."""
    names = [part for part in parts_of(tree) if isinstance(part, Name)]
    said = {f"{name.of}.{name.field}": spoken[0] for name in names if (spoken := phrases(*_now(name)))}
    said |= {f"param.{part.name.replace(' ', '_')}": f"${part.name}" for part in parts_of(tree) if isinstance(part, NamedNumber)}
    return "; ".join(f'{name} is "{words}"' for name, words in said.items())


def _now(name: Name) -> tuple[str, str]:
    return RENAMED.get((name.of, name.field), (name.of, FLAGS.get((name.of, name.field), name.field)))


def _shown(tree: Node, parameters: Mapping[str, str | None]) -> str:
    if isinstance(tree, Constant) and isinstance(tree.value, str):
        return tree.value
    if isinstance(tree, Choice):
        so = said_anew(tree.so, YES_NO, parameters)
        if so is None:
            raise _NoForm
        one, other = _shown(tree.one, parameters), _shown(tree.other, parameters)
        if not one:
            so, one, other = said_anew(Denied(tree.so, tree.at), YES_NO, parameters) or "", other, ""
        if not so:
            raise _NoForm
        return f"{{if {so}: {one}}}" if not other else f"{{if {so}: {one}; otherwise: {other}}}"
    if isinstance(tree, Reckoned) and tree.sign == "+" and any(_is_words(part) for part in (tree.left, tree.right)):
        return _shown(tree.left, parameters) + _shown(tree.right, parameters)
    if isinstance(tree, Rounded | Spelt):
        return _shown(tree.part, parameters)
    if isinstance(tree, Name):
        return f"{{{'.'.join(_now(tree))}}}"
    words = said_anew(tree, None, parameters)
    if words is None:
        raise _NoForm
    return f"{{{words}}}"


def _is_words(tree: Node) -> bool:
    return any(isinstance(part, Spelt) or getattr(part, "measures", None) == WORD for part in parts_of(tree))


class _Said:
    """Trees in words; `guarded` are the names of which the expression asks somewhere whether they are known."""

    def __init__(self, guarded: set[tuple[str, str]]) -> None:
        self.guarded = guarded

    def condition(self, tree: Node) -> str:
        """What has to be so."""
        if isinstance(tree, Joined):
            sides = [self.condition(part) for part in (tree.left, tree.right)]
            bound = [f"({side})" if self.mixes(part, tree.sign) else side for part, side in zip((tree.left, tree.right), sides, strict=True)]
            return f"{bound[0]} {tree.sign} {bound[1]}"
        if isinstance(tree, Denied):
            return self.denied(tree.part)
        if isinstance(tree, Compared):
            return self.compared(tree)
        if isinstance(tree, IsKnown):
            return f"{self.one(tree.part, None)} is known"
        return self.fact(tree, denied=False)

    @staticmethod
    def mixes(part: Node, sign: str) -> bool:
        """Whether a part needs brackets beside "and" or "or": it is joined by the other, as the contrary of one is."""
        denied = False
        while isinstance(part, Denied):
            part, denied = part.part, not denied
        return isinstance(part, Joined) and (part.sign != sign) != denied

    def denied(self, tree: Node) -> str:
        """The contrary."""
        if isinstance(tree, Denied):
            return self.condition(tree.part)
        if isinstance(tree, Compared):
            return self.compared(tree._replace(sign=_CONTRARY[tree.sign]))
        if isinstance(tree, IsKnown):
            return f"{self.one(tree.part, None)} is not known"
        if isinstance(tree, Joined):
            turned = "or" if tree.sign == "and" else "and"
            return self.condition(Joined(turned, Denied(tree.left, tree.at), Denied(tree.right, tree.at), tree.at))
        return self.fact(tree, denied=True)

    def fact(self, tree: Node, *, denied: bool) -> str:
        """A yes or no by its name."""
        if isinstance(tree, NamedNumber):
            return f"${tree.name} is {'not ' if denied else ''}so"
        if not isinstance(tree, Name):
            raise _NoForm
        if asked := FLAGS.get((tree.of, tree.field)):
            return f"{self.one(Name(tree.of, asked, None), None)} is {'not ' if denied else ''}known"
        for sentence, (name, contrary) in SENTENCES.items():
            if (name.of, name.field) == _now(tree) and contrary == denied:
                return sentence
        raise _NoForm

    def compared(self, tree: Compared) -> str:
        """A comparison; with one name on the left, where there is one."""
        sign, left, right = tree.sign, tree.left, tree.right
        if isinstance(left, Constant) and not isinstance(right, Constant):
            sign, left, right = _TURNED[sign], right, left
        if isinstance(right, Constant):
            if right.value is None:
                return f"{self.one(left, None)} is {'not ' if sign == '==' else ''}known"
            if isinstance(right.value, bool):
                return self.condition(left) if right.value == (sign == "==") else self.denied(left)
            if isinstance(right.value, str):
                name, denied = self.one(left, None), sign == ("!=" if right.value else "==")
                return f"{name} {_is(name)} {'not ' if denied else ''}{right.value or 'said'}"
            if (said := self.none_or_unknown(left, sign, right.value)) is not None:
                return said
        sides = [self.sum(part, getattr(beside, "measures", None)) for part, beside in ((left, right), (right, left))]
        if sign == "==":
            return f"({sides[0]} {_is(sides[0])} at least {sides[1]} and it is at most {sides[1]})"
        if sign not in _COMPARED:
            raise _NoForm
        said = f"{_is(sides[0])} {_COMPARED[sign]} {sides[1]}"
        stood = NUMBERS.get(left.of, {}).get(left.field, 0.0) if isinstance(left, Name) else 0.0
        if not isinstance(left, Name) or (left.of, left.field) in self.guarded or stood >= 0:
            return f"{sides[0]} {said}"
        # what is not known was -1 or -99 then, which is less than anything
        return f"({sides[0]} is known and it {said})" if sign in (">", ">=") else f"({sides[0]} is not known or it {said})"

    def none_or_unknown(self, left: Node, sign: str, value: float) -> str | None:
        """ "there are no packages", and what numbers below nothing stood for."""
        if not isinstance(left, Name):
            return None
        if left.field in NUMBERS.get(left.of, {}):
            stood = NUMBERS[left.of][left.field]
            if sign in ("==", "!=") and value == stood:
                return f"{self.one(left, None)} is {'not ' if sign == '==' else ''}known"
            if stood < 0 and value in (0.0, stood) and sign in ("<", ">=", ">"):
                return f"{self.one(left, None)} is {'not ' if sign == '<' else ''}known"
        spoken = phrases(*_now(left))
        if value == 0 and spoken and spoken[0] in NOUNS and sign in (">", "==", "!=", "<="):
            return f"there are {'no ' if sign in ('==', '<=') else ''}{spoken[0]}"
        return None

    def amount(self, tree: Node, needs: str | None) -> str:
        """An amount, or the first of several that holds."""
        if isinstance(tree, Choice):
            so = tree.so
            if isinstance(so, Compared) and so.sign in ("<", ">") and (so.left[:-1], so.right[:-1]) == (tree.one[:-1], tree.other[:-1]):
                return self.amount(Extreme(so.sign, so.left, so.right, tree.at), needs)
            one = self.sum(tree.one, needs)
            return f"{one} if {self.condition(so)}, {'' if isinstance(tree.other, Choice) else 'otherwise '}{self.amount(tree.other, needs)}"
        if isinstance(tree, Extreme):
            return f"{'smaller' if tree.sign == '<' else 'larger'} of {self.sum(tree.left, needs)} and {self.sum(tree.right, needs)}"
        return self.sum(tree, needs)

    def sum(self, tree: Node, needs: str | None) -> str:
        """Amounts added and taken from one another; what chooses stands in brackets."""
        if isinstance(tree, Choice | Extreme):
            return f"({self.amount(tree, needs)})"
        if isinstance(tree, Reckoned) and tree.sign in "+-":
            right = self.product(tree.right, needs)
            return f"{self.sum(tree.left, needs)} {'plus' if tree.sign == '+' else 'less'} {right}"
        return self.product(tree, needs)

    def product(self, tree: Node, needs: str | None) -> str:
        """So much for each, a part of something, a quotient."""
        if isinstance(tree, Rounded) and isinstance(tree.part, Reckoned) and tree.part.sign == "/":
            return f"how often {self.one(tree.part.right, needs)} fits into {self.one(tree.part.left, needs)}"
        if not isinstance(tree, Reckoned) or tree.sign not in "*/":
            return self.one(tree, needs)
        if tree.sign == "/":
            return f"{self.product(tree.left, needs)} divided by {self.one(tree.right, None)}"
        for one, other in ((tree.left, tree.right), (tree.right, tree.left)):
            noun = next((noun for noun, name in ONE_OF.items() if isinstance(other, Name) and (name.of, name.field) == _now(other)), None)
            if noun and getattr(one, "measures", None) != "count":
                return f"{self.one(one, needs)} each {noun}"
        for one, other in ((tree.left, tree.right), (tree.right, tree.left)):
            if isinstance(one, Constant) and isinstance(one.value, float) and one.measures in (NUMBER, "share"):
                return f"{one.value * 100:.10g} % of {self.part(other, needs)}"
            if getattr(one, "measures", None) == "share":
                return f"{self.one(one, None)} of {self.part(other, needs)}"
        raise _NoForm

    def part(self, tree: Node, needs: str | None) -> str:
        """What something is a part of."""
        return self.product(tree, needs) if isinstance(tree, Reckoned) and tree.sign == "*" else self.one(tree, needs)

    def one(self, tree: Node, needs: str | None) -> str:
        """One amount; what is reckoned stands in brackets."""
        if isinstance(tree, Constant):
            return _number(tree, needs)
        if isinstance(tree, NamedNumber):
            return f"${tree.name}"
        if isinstance(tree, Name):
            spoken = [aloud for aloud in phrases(*_now(tree)) if aloud not in SENTENCES]
            if not spoken:
                raise _NoForm
            return spoken[0]
        if isinstance(tree, Called):
            return self.estimate(tree)
        if isinstance(tree, Reckoned | Choice | Extreme | Rounded):
            return f"({self.amount(tree, needs)})"
        raise _NoForm

    def estimate(self, tree: Called) -> str:
        """An estimate by its name, with what is said of its places where that is not what is usual."""
        if tree.name == "fermentation":
            return next(words for words, one in OWNED.items() if isinstance(one, Called))
        for name, spoken in ESTIMATES.items():
            if spoken.function != tree.name or len(spoken.given) != len(tree.given):
                continue
            said: dict[str, Node] = {}
            for form, given in zip(spoken.given, tree.given, strict=True):
                if isinstance(form, str):
                    said[form] = given
                elif isinstance(form, dict) and isinstance(given, Made) and form.keys() == dict(given.fields).keys():
                    said |= {slot: dict(given.fields)[key] for key, slot in form.items() if isinstance(slot, str)}
                elif isinstance(form, dict) or form[:-1] != given[:-1]:
                    raise _NoForm
            places = (f" {slot} {self.one(part, spoken.slots[slot].measures)}" for slot, part in said.items() if not _usual(part, spoken.slots[slot].otherwise))
            return name + "".join(places)
        raise _NoForm


def _is(amount: str) -> str:
    return "are" if amount in NOUNS or amount.endswith(("larvae", "limits", "entrances", "colonies")) else "is"


def _usual(part: Node, otherwise: Node | None) -> bool:
    return otherwise is not None and part[:-1] == otherwise[:-1]


def _number(tree: Constant, needs: str | None) -> str:
    if isinstance(tree.value, bool) or not isinstance(tree.value, float):
        raise _NoForm
    dimension = tree.measures if tree.measures not in (NUMBER, None) else needs if needs not in (None, NUMBER, "any") else "count"
    units = _UNITS.get(str(dimension), (("", 1.0),) if dimension == "count" else ())
    for unit, size in units:
        number = tree.value / size
        written = f"{f'{number:.12f}'.rstrip('0').rstrip('.')} {unit}".strip()
        if (number == round(number) or (unit, size) == units[-1]) and parse(written, str(dimension)) == tree.value:
            return written
    raise _NoForm
