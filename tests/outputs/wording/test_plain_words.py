"""What a person reads, in the program's own strings and in the rule files, keeps a few rules of plain English; each is seen to catch a planted fault."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[3]
RULES = {
    "cannot": (re.compile(r"\bcan not\b", re.IGNORECASE), "cannot"),
    "default": (re.compile(r"\bwithout it, \w", re.IGNORECASE), "Default: ..."),
    "chill": (re.compile(r"\bchill", re.IGNORECASE), "freezer, or the temperature: 4 to 15 °C sets honey"),
    "tells": (re.compile(r"\b(?:is|are|was|were|be) told\b(?! apart)|\btells\b", re.IGNORECASE), "record, show, send or warn"),
    "closing title": (re.compile(r"^(Finish|Hold done): [A-Z]"), "a title of its own for the step that closes a hold"),
}
PLANTED = {
    "cannot": "The jar can not be filled",
    "default": "When it was; without it, now.",
    "chill": "Chill the comb",
    "tells": "The keeper is told at once",
    "closing title": "Finish: Treat for mites",
}


def faults(text: str) -> list[str]:
    """The rules that a text breaks."""
    return [name for name, (pattern, _) in RULES.items() if pattern.search(text)]


def strings() -> Iterator[tuple[str, str]]:
    """Every string of the program that may reach a person, with its place; docstrings are for whoever reads the code."""
    for path in sorted((ROOT / "scheduler").rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        told = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
        for node in ast.walk(tree):
            if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in told:
                yield f"{path.relative_to(ROOT)}:{node.lineno}", node.value


def lines() -> Iterator[tuple[str, str]]:
    """Every line of the rule files and of the guide."""
    for path in [*sorted((ROOT / "rulesets").glob("*.yaml")), ROOT / "README.md"]:
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
            yield f"{path.relative_to(ROOT)}:{number}", line


@pytest.mark.parametrize("source", [strings, lines])
def test_what_a_person_reads_is_plain(source: object) -> None:
    """With the place of each slip, and what to write instead."""
    found = [f"{place}: {name}: write {RULES[name][1]}" for place, text in source() for name in faults(text)]  # type: ignore[operator]
    assert found == []


@pytest.mark.parametrize("name", RULES)
def test_a_planted_fault_is_seen(name: str) -> None:
    """A rule that catches nothing would be none."""
    assert faults(PLANTED[name]) == [name]
