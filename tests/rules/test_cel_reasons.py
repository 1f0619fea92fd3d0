"""Beside each bundled card and stop that needs CEL stands why no form of the language carries it; rulesets/README.md says what the words mean."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import pytest

from scheduler.application.scenarios import bundled_files
from scheduler.documents import read, record
from scheduler.estimates.cel_functions import CALLABLES
from scheduler.rules.amounts import kind_of
from scheduler.rules.card_check import Marked, marked
from scheduler.rules.schema import RuleSet
from scheduler.rules.short_forms import ConditionText, TemplateText

WORDS = ("condition", "estimate", "choice", "product", "sum", "fact")
SAID = re.compile(r":\s+# CEL: (?P<why>[a-z, ]+)$")
QUOTED = re.compile(r"""'[^']*'|"[^"]*\"""")


class Beside(NamedTuple):
    """A card or a stop: its place, what is said beside it, and what its expressions are needed for."""

    place: str
    said: tuple[str, ...]
    needed: tuple[str, ...]


def needs(one: Marked) -> Iterator[str]:
    """What an amount or a condition is written in CEL for; nothing where it is a quantity or a parameter."""
    if isinstance(one.mark, TemplateText) or one.text in ("true", "false"):
        return
    if isinstance(one.mark, ConditionText):
        yield "condition"
    elif kind_of(one.text) == "expression":
        text = QUOTED.sub("", one.text)
        found = [
            word
            for word, there in (
                ("estimate", any(f"{name}(" in text for name in CALLABLES)),
                ("choice", "?" in text),
                ("product", "*" in text or "/" in text),
                ("sum", bool(re.search(r" [+-] ", text))),
            )
            if there
        ]
        yield from found or ["fact"]


def besides(path: Path) -> Iterator[Beside]:
    """Every card and stop of a file."""
    document = read(path.read_bytes(), path.name, "rules")
    rules, lines = record(document, RuleSet), path.read_text(encoding="utf-8").splitlines()
    for kind, items in (("tasks", rules.tasks), ("stops", rules.stops)):
        for name, item in items.items():
            line, _ = document.place((kind, name), key=True)
            found = SAID.search(lines[line - 1])
            needed = {word for one in marked(item) for word in needs(one)}
            yield Beside(f"{path.name}:{line} {name}", tuple(found["why"].split(", ")) if found else (), tuple(word for word in WORDS if word in needed))


@pytest.mark.parametrize("path", bundled_files(), ids=lambda path: path.stem)
def test_a_card_that_needs_cel_says_what_for(path: Path) -> None:
    """And one that needs none says nothing: what its expressions hold, in the order of the words."""
    assert [(one.place, ", ".join(one.said)) for one in besides(path)] == [(one.place, ", ".join(one.needed)) for one in besides(path)]


def test_the_words_are_explained() -> None:
    """Each in a row of the table in rulesets/README.md, and none that no card says."""
    book = (bundled_files()[0].parent / "README.md").read_text(encoding="utf-8")
    _, _, table = book.partition("## What CEL is for")
    assert tuple(re.findall(r"^\| `(\w+)` \|", table, re.MULTILINE)) == WORDS
    assert {word for path in bundled_files() for one in besides(path) for word in one.said} == set(WORDS)
