"""What an expression measures: the dimension of each name, quantity and estimate in it, and whether what is added or compared is of one kind."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.quantities import with_article
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
    Whole,
)  # fmt: skip
from scheduler.rules.expressions import ExpressionFault, position
from scheduler.rules.old_expressions import NUMBER
from scheduler.rules.spoken_names import TEMPERATURE, WORD, YES_NO

TEMPERATURES = (TEMPERATURE, "temperature difference")
_BARE = (NUMBER, "count", "share")  # a quantity times one of these stays what it is
_OTHERWISE = {"dew_point": TEMPERATURE, "fermentation": WORD}  # what an estimate gives that is no time


def measured(tree: Node, text: str) -> str | None:
    """The dimension of an expression that was read from a text; None where it is not known.

    Raises `ExpressionFault` where two kinds are added or compared, where a word is reckoned with or a number is a condition, in any branch.
    """
    if isinstance(tree, Constant | Name):
        return tree.measures
    if isinstance(tree, NamedNumber):
        return None if tree.measures == "count" else tree.measures  # a density has no unit here, and is written as a count
    if isinstance(tree, Reckoned):
        return _reckoned(tree, text)
    if isinstance(tree, Compared):
        return _compared(tree, text)
    if isinstance(tree, Joined | Denied):
        for part in (tree.left, tree.right) if isinstance(tree, Joined) else (tree.part,):
            _condition(part, text)
        return YES_NO
    if isinstance(tree, Extreme):
        return _alike(_number(tree.left, text), _number(tree.right, text), tree, text, "are compared")
    if isinstance(tree, Choice):
        _condition(tree.so, text)
        branches = {measured(part, text) for part in (tree.one, tree.other)}
        return branches.pop() if len(branches) == 1 else None
    if isinstance(tree, IsKnown | Spelt):
        measured(tree.part, text)
        return YES_NO if isinstance(tree, IsKnown) else WORD
    if isinstance(tree, Rounded):
        return _number(tree.part, text)
    if isinstance(tree, Called | Made):
        for part in tree.given if isinstance(tree, Called) else (part for _, part in tree.fields):
            measured(part, text)
        return _OTHERWISE.get(tree.name, "duration") if isinstance(tree, Called) else None
    if isinstance(tree, Whole):
        return None


def ways(tree: Node) -> Iterator[Node]:
    """What an expression may give: its choices, each with all its ways."""
    if isinstance(tree, Choice):
        yield from ways(tree.one)
        yield from ways(tree.other)
    else:
        yield tree


def _wrong(part: Node, text: str, message: str, write: str) -> ExpressionFault:
    return ExpressionFault(text, *position(text, part.at), message, write)


def _condition(part: Node, text: str) -> None:
    found = measured(part, text)
    if found not in (YES_NO, None):
        message = f"a condition must give true or false, and this gives {with_article(found)}"
        raise _wrong(part, text, message, 'a comparison such as "the lot\'s mass is at least $NAME"')


def _number(part: Node, text: str) -> str | None:
    found = measured(part, text)
    if found in (WORD, YES_NO):
        raise _wrong(part, text, f"a number is needed, and this is {with_article(found)}", 'an amount such as "the lot\'s mass"')
    return found


def _compared(tree: Compared, text: str) -> str:
    one, other = measured(tree.left, text), measured(tree.right, text)
    bare = NUMBER in (one, other) and not {one, other} & {WORD, YES_NO}
    if None not in (one, other) and one != other and not bare and {one, other} != {*TEMPERATURES}:
        raise _of_two_kinds(one, other, tree, text, "are compared")
    return YES_NO


def _reckoned(tree: Reckoned, text: str) -> str | None:
    if tree.sign == "+" and measured(tree.left, text) == measured(tree.right, text) == WORD:
        return WORD
    one, other = _number(tree.left, text), _number(tree.right, text)
    if tree.sign == "/" and isinstance(tree.right, Constant) and tree.right.value == 0:
        raise _wrong(tree.right, text, "nothing is divided by 0", "another number")
    if tree.sign in "*/":
        if one in _BARE and other not in _BARE:
            return other if tree.sign == "*" else None
        return one if other in _BARE and one not in _BARE else None
    if one is None or other is None or NUMBER in (one, other):
        return None
    if tree.sign == "-" and one == other == TEMPERATURE:
        return TEMPERATURES[1]
    return TEMPERATURE if {one, other} == {*TEMPERATURES} else _alike(one, other, tree, text, "are added, or one is taken from the other")


def _alike(one: str | None, other: str | None, tree: Node, text: str, done: str) -> str | None:
    if None in (one, other) or NUMBER in (one, other):
        return None
    if one == other or {one, other} == {*TEMPERATURES}:
        return one
    raise _of_two_kinds(one, other, tree, text, done)


def _of_two_kinds(one: str | None, other: str | None, tree: Node, text: str, done: str) -> ExpressionFault:
    return _wrong(tree, text, f"{with_article(str(one))} and {with_article(str(other))} {done}", f"two of a kind, such as another {one}")
