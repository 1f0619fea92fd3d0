"""Both branches of each `condition ? one : other` of an expression, so that a check sees more than what its sample values take.

CEL evaluates one branch only. A branch is tried by blanking the rest of its conditional, which leaves every place where it was: the
conditional binds weakest of all, so it is bounded by brackets, commas or the ends of the text.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import islice

MOST = 64  # variants of one expression that are tried
_TOKEN = re.compile(r"""("(?:[^"\\]|\\.)*"|'(?:[^'\\]|\\.)*')|[()\[\]{},?:]""")
_OPENS, _CLOSES = "([{", ")]}"


def branches(text: str) -> Iterator[str]:
    """The expression with its conditionals decided one way and the other, each as long as the expression itself."""
    yield from islice(_decided(text), MOST)


def _decided(text: str) -> Iterator[str]:
    tokens = [(match.start(), match[0]) for match in _TOKEN.finditer(text) if not match[1]]
    at = next((i for i, (_, token) in enumerate(tokens) if token == "?"), None)
    if at is None:
        return
    start, colon, end = _from(tokens, at), _colon(tokens, at), _until(tokens, at, len(text))
    if colon is None:
        return
    asked = tokens[at][0]
    for keep in ((asked + 1, colon), (colon + 1, end)):
        variant = text[:start] + _blank(text[start : keep[0]]) + text[slice(*keep)] + _blank(text[keep[1] : end]) + text[end:]
        yield variant
        yield from _decided(variant)


def _blank(text: str) -> str:
    return re.sub(r"[^\n]", " ", text)


def _from(tokens: list[tuple[int, str]], at: int) -> int:
    """Where the condition of the first "?" begins: after the bracket, comma or colon before it that is still open."""
    depth = 0
    for place, token in reversed(tokens[:at]):
        if token in _CLOSES:
            depth += 1
        elif depth and token in _OPENS:
            depth -= 1
        elif not depth and token not in _CLOSES:
            return place + 1
    return 0


def _colon(tokens: list[tuple[int, str]], at: int) -> int | None:
    """The colon that belongs to a "?"."""
    depth = nested = 0
    for place, token in tokens[at + 1 :]:
        if token in _OPENS:
            depth += 1
        elif token in _CLOSES:
            depth -= 1
        elif not depth and token == "?":
            nested += 1
        elif not depth and token == ":":
            if not nested:
                return place
            nested -= 1
    return None


def _until(tokens: list[tuple[int, str]], at: int, last: int) -> int:
    """Where the other branch ends: at the bracket or comma that bounds the conditional, or at the end of the text."""
    depth = 0
    for place, token in tokens[at + 1 :]:
        if not depth and (token in _CLOSES or token == ","):
            return place
        depth += (token in _OPENS) - (token in _CLOSES)
    return last
