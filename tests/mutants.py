"""Which small faults in a module its tests notice: `python -m tests.mutants MODULE.py [--most N] TEST...` prints those that no test notices.

One fault at a time: a comparison shifted or turned, an operator or a number changed, a condition negated, `min` for `max`. Each runs in a process of
its own that reads the changed module in the place of the file. A survivor is a test that is missing, or a change that makes no difference: say which.
"""

from __future__ import annotations

import argparse
import ast
import os
import re
import signal
import sys
from collections.abc import Iterator
from importlib.machinery import SourceFileLoader
from itertools import pairwise
from pathlib import Path
from typing import Any, NamedTuple

import hypothesis  # noqa: F401  # what tests load anyway is loaded once
import icalendar  # noqa: F401
import pydantic  # noqa: F401
import pytest

SWAPPED = {"<=": "<", "<": "<=", ">=": ">", ">": ">=", "==": "!=", "!=": "==", "is not": "is", "is": "is not", "not in": "in", "in": "not in"}
SWAPPED |= {"+": "-", "-": "+", "*": "/", "/": "*", "//": "*", "%": "+", "**": "*", "&": "|", "|": "&", "and": "or", "or": "and"}
TURNED = {"<=": ">", "<": ">=", ">=": "<", ">": "<="}
OPERATOR = re.compile(rb"is not|not in|\b(?:is|in|and|or)\b|<=|>=|==|!=|//|\*\*|[-+*/%<>&|]")
LIMIT = 180  # a fault that makes the tests run so long is noticed [s]


class Mutant(NamedTuple):
    """One fault: its line, what stood there and what stands there now, and the source with it."""

    line: int
    was: str
    now: str
    source: bytes


class Mutants:
    """The faults that can be made in a source, in the order of its lines."""

    def __init__(self, source: bytes) -> None:
        self.source, self.starts = source, [0]
        for line in source.splitlines(keepends=True):
            self.starts.append(self.starts[-1] + len(line))

    def __iter__(self) -> Iterator[Mutant]:
        for node in sorted((node for node in self._within(ast.parse(self.source)) if hasattr(node, "lineno")), key=self._first):
            yield from self._of(node)

    def _within(self, node: ast.AST) -> Iterator[ast.AST]:
        for name, value in ast.iter_fields(node):
            if name not in ("annotation", "returns", "decorator_list"):  # no fault there changes what is worked out
                for child in value if isinstance(value, list) else [value]:
                    if isinstance(child, ast.AST):
                        yield child
                        yield from self._within(child)

    def _of(self, node: ast.AST) -> Iterator[Mutant]:
        match node:
            case ast.Compare(left=left, comparators=others):
                yield from self._between([left, *others])
            case ast.BinOp(left=left, right=right):
                yield from self._between([left, right])
            case ast.BoolOp(values=values):
                yield from self._between(values)
            case ast.Constant(value=bool(value)):
                yield self._changed(node, str(not value))
            case ast.Constant(value=int(value)):
                yield self._changed(node, str(value + 1))
            case ast.Constant(value=float(value)):
                yield self._changed(node, repr(value * 1.1 or 1.0))
            case ast.UnaryOp(op=ast.Not() | ast.USub(), operand=operand):
                yield self._replaced(self._first(node), self._first(operand), " ")
            case ast.IfExp(test=test) | ast.If(test=test):
                yield self._changed(test, f"(not ({ast.unparse(test)}))")
            case ast.Name(id="min" | "max" as name):
                yield self._changed(node, "max" if name == "min" else "min")
            case ast.Continue():
                yield self._changed(node, "break")

    def _between(self, values: list[ast.expr]) -> Iterator[Mutant]:
        for left, right in pairwise(values):
            found = OPERATOR.search(self.source, self._last(left), self._first(right))
            word = found[0].decode() if found else ""
            for now in (SWAPPED.get(word), TURNED.get(word)):
                if found and now:
                    yield self._replaced(found.start(), found.end(), now)

    def _first(self, node: Any) -> int:
        return int(self.starts[node.lineno - 1] + node.col_offset)

    def _last(self, node: Any) -> int:
        return int(self.starts[node.end_lineno - 1] + node.end_col_offset)

    def _changed(self, node: ast.AST, now: str) -> Mutant:
        return self._replaced(self._first(node), self._last(node), now)

    def _replaced(self, first: int, last: int, now: str) -> Mutant:
        line, was = self.source.count(b"\n", 0, first) + 1, self.source[first:last].decode()
        return Mutant(line, was, now, self.source[:first] + now.encode() + self.source[last:])


def noticed(path: Path, source: bytes, tests: list[str]) -> bool:
    """Whether a test fails in a process that reads this source in the place of the file."""
    if child := os.fork():
        return os.waitpid(child, 0)[1] != 0
    quiet = os.open(os.devnull, os.O_WRONLY)
    os.dup2(quiet, 1)
    os.dup2(quiet, 2)
    usual = SourceFileLoader.get_code

    def code(self: SourceFileLoader, name: str) -> Any:
        return compile(source, str(path), "exec") if Path(self.path) == path else usual(self, name)

    SourceFileLoader.get_code = code  # type: ignore[method-assign]
    signal.alarm(LIMIT)
    loaded = ["-W", "ignore::pytest.PytestAssertRewriteWarning"]
    os._exit(int(pytest.main(["-x", "-q", "-m", "not system", "-p", "no:cacheprovider", *loaded, *tests])))


def main() -> None:
    """Try the faults, evenly spread over the module where there are more than are wanted."""
    asked = argparse.ArgumentParser()
    asked.add_argument("module", type=Path)
    asked.add_argument("tests", nargs="+")
    asked.add_argument("--most", type=int, default=10**6)
    given = asked.parse_args()
    path = given.module.resolve()
    if noticed(path, path.read_bytes(), given.tests):
        sys.exit("the tests fail without a fault")
    every = list(Mutants(path.read_bytes()))
    chosen = every if len(every) <= given.most else [every[i * len(every) // given.most] for i in range(given.most)]
    survivors = 0
    for one in chosen:
        if not noticed(path, one.source, given.tests):
            survivors += 1
            line = one.source.splitlines()[one.line - 1].decode().strip()
            sys.stdout.write(f"{given.module}:{one.line}: {one.was!r} -> {one.now!r}: {line}\n")
            sys.stdout.flush()
    sys.stdout.write(f"{given.module}: {len(chosen) - survivors} of {len(chosen)} noticed, of {len(every)} that can be made\n")


if __name__ == "__main__":
    main()
