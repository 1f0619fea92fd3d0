"""Each kind of statement has words, in metric and in US units, and nothing below the outputs decides by words."""

from __future__ import annotations

import ast
import json
import string
from collections import Counter
from datetime import UTC, date, time
from itertools import pairwise

import pytest

from scheduler.outputs.wording import estimate_words, instrument_words, plan_words, told_words
from scheduler.outputs.wording.plan_words import PLAN
from scheduler.outputs.wording.sentence import CATALOGUE, METRIC, Reader, in_words
from scheduler.outputs.wording.told_words import ON_PAGE, TOLD
from scheduler.planning.network import Mode, Network, Placement, Task, violations
from scheduler.quantities import Quantity, Statement, celsius, elapsed, instant, kilograms, say, warmer
from tests.golden.examples import MOMENTS, planned
from tests.outputs.wording.emitted import ROOT, emitted, modules

NOT_ON_PAGE = {"harvest withdrawn", "wanted", "wanted listed"}  # the page has no form that is answered so
US = Reader("us", UTC)
MADE = [(path.name, *one) for path in modules() for one in emitted(path.read_text())]
SPECS = {"": kilograms(27.0), "bare": celsius(-18.0), "hours": elapsed(9000), "seconds": elapsed(90), "iso": date(2026, 8, 11), "short": date(2026, 8, 11)}


def fields(kind: str) -> dict[str, str]:
    """The places of a kind's words: name to format."""
    return {name: spec or "" for _, name, spec, _ in string.Formatter().parse(CATALOGUE[kind]) if name}


def without_words(kind: str | None, names: frozenset[str | None]) -> str:
    """What is wrong with the words of a statement; empty where nothing is."""
    if kind not in CATALOGUE:
        return f"{kind}: no words"
    missing = fields(kind).keys() - names
    return f"{kind}: its words ask for {', '.join(sorted(missing))}" if missing and None not in names else ""


def test_every_kind_that_can_be_told_has_words_for_what_it_speaks_of() -> None:
    """Over a hundred kinds, read from the code itself: none is found out by a keeper."""
    assert len(MADE) > 100
    assert [fault for _, kind, names in MADE if (fault := without_words(kind, names))] == []


def test_no_words_are_kept_for_a_kind_that_nobody_makes() -> None:
    """The catalogue shrinks with the code."""
    made = {kind for _, kind, _ in MADE}
    assert sorted(CATALOGUE.keys() - made - {"as written"}) == []


def test_a_kind_is_worded_once() -> None:
    """Of two sentences for one kind the last would stand for both, and the first would lack its values."""
    modules = (estimate_words, instrument_words, plan_words, told_words)
    tables = {id(table): table for module in modules for name, table in vars(module).items() if isinstance(table, dict) and not name.startswith("_")}
    whole = (estimate_words.ESTIMATES, instrument_words.INSTRUMENTS, plan_words.PLAN, told_words.TOLD, told_words.SYNCED, told_words.ON_PAGE)
    kinds = Counter(kind for table in tables.values() if not any(table is one for one in whole) for kind in table)
    assert [kind for kind, count in kinds.items() if count > 1] == []
    assert kinds.keys() == CATALOGUE.keys()


@pytest.mark.parametrize("kind", sorted(CATALOGUE))
def test_words_can_be_filled_in_for_both_kinds_of_keeper(kind: str) -> None:
    """A place takes what its format asks for: a quantity, a day, several statements, a number."""
    several = (say("the pull"), say("now"))
    numbers = (24.0, date(2026, 8, 11))
    values = {name: several if " " in spec else SPECS.get(spec, numbers[not spec.endswith(("g", "f"))]) for name, spec in fields(kind).items()}
    for reader in (METRIC, US):
        assert "{" not in in_words(Statement(kind, tuple(values.items())), reader)


def test_words_on_the_page_name_no_command_and_speak_of_the_same() -> None:
    """Each kind that the page may say has words without a command; they ask for nothing that the statement does not hold."""
    commands = {kind for kind, words in {**PLAN, **TOLD}.items() if "afterpull " in words}
    assert commands - ON_PAGE.keys() == NOT_ON_PAGE
    for kind, words in ON_PAGE.items():
        assert "afterpull" not in words
        assert "--" not in words
        held = [names for _, made, names in MADE if made == kind]
        assert all({name for _, name, _, _ in string.Formatter().parse(words) if name} <= names for names in held), kind
    said = in_words(say("task begun", title="Drain", at=instant(0), until=instant(3600)), METRIC._replace(page=True))
    assert said.endswith("press Done")


def test_a_kind_without_words_is_found() -> None:
    """Planted: a reason nobody wrote words for, one whose words ask for more than it says, and one whose kind is put together."""
    planted = 'def told():\n    return [say("bees on strike", hives=3), say("load", mass=1), say(f"{1} of a kind")]\n'
    assert [without_words(*one) for one in emitted(planted)] == ["bees on strike: no words", "load: its words ask for title", "None: no words"]


def test_a_keeper_reads_quantities_in_his_own_units() -> None:
    """A freezer at 0 °F: -6.7 °C for 4.5 h is the mildest published pair."""
    statement = say("never lethal", air=celsius(-5.0), mildest=celsius(-6.7), exposure=elapsed(16200), needed=celsius(-8.7), error=warmer(1.5))
    for reader, air, error, mildest in ((METRIC, "-5 °C", "1.5 °C", "-6.7 °C"), (US, "23 °F", "2.7 °F", "20 °F")):
        says = f"air at {air} never kills wax moth: the mildest published pair is {mildest} for 4.5 h at the core, so the air, which may be {error} off"
        assert in_words(statement, reader).startswith(says)
    kept = say("kept free by", free=say("day kept free", day=date(2026, 8, 15), opens=time(7), closes=time(22)), person="Ash")
    assert in_words(say("cured by", changes=(say("more room", more=Quantity(0.02, "space"), resource="freezer"), kept)), US) == (
        "What would cure it: 0.7 cu ft more room in the freezer, or Sat 15 Aug kept free from 07:00 to 22:00 by Ash."
    )


@pytest.mark.parametrize("example", [name for name in MOMENTS if name.startswith("pelican")])
def test_nothing_metric_is_left_in_the_plan_of_a_us_yard(example: str) -> None:
    """Reasons, warnings, titles, alerts and cautions: pounds, inches and °F throughout."""
    units = {"kg", "g", "cm", "mm", "m", "L", "mL", "°C", "K", "kg/day", "kg/m³", "W/m²K", "W/mK", "kJ/kg", "m³"}
    plan = json.loads(planned(example, "--json"))
    told = json.dumps([plan["warnings"], [{**task, "sources": []} for task in plan["tasks"]]], ensure_ascii=False)  # a citation stays as published
    words = [word.strip(".,;:()\"'") for word in told.split()]
    assert sorted({f"{number} {unit}" for number, unit in pairwise(words) if unit in units and number[-1:].isdigit()}) == []


def test_the_verifier_says_whom_and_how_much() -> None:
    """A task before its release, and one never placed: kind, task, seconds."""
    network = Network((Task("a", 600, 0, (Mode(0, None),), 7200), Task("b", 600, 0, (Mode(0, None),), 0)), (), {})
    found = violations(network, {"a": Placement(3600, 4200, 4200, ((3600, 4200),), ())})
    assert found == [say("not placed", task="b"), say("before its release", task="a", by=elapsed(3600))]
    assert [in_words(one, METRIC) for one in found] == ["b: not placed", "a: starts 3600 s before its release"]


ASKED = ("text", "label", "words", "message", "title", "says")  # what holds words


def by_words(code: str) -> list[int]:
    """Lines of a module that take a decision by the words of something: a prefix, a part, an equal text."""
    found = []
    for node in ast.walk(ast.parse(code)):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr in ("startswith", "endswith"):
            found += [node.lineno] if _wordy(node.func.value) else []
        if isinstance(node, ast.Compare) and any(isinstance(one, ast.In | ast.NotIn | ast.Eq | ast.NotEq) for one in node.ops):
            found += [node.lineno] if any(_wordy(one) for one in (node.left, *node.comparators)) else []
    return found


def _wordy(node: ast.expr) -> bool:
    return (isinstance(node, ast.Attribute) and node.attr in ASKED) or (isinstance(node, ast.Name) and node.id in ("text", "words", "label"))


@pytest.mark.parametrize("room", ["planning", "estimates", "rules"])
def test_no_decision_is_taken_by_reading_words_back(room: str) -> None:
    """Kinds decide, and of a fault its class; words come last, in the outputs, which these rooms do not even import."""
    assert {path.name: lines for path in sorted((ROOT / room).glob("*.py")) if (lines := by_words(path.read_text()))} == {}


@pytest.mark.parametrize(
    "planted",
    [
        'if draft.refusal and not draft.refusal.text.startswith("it waits for"):\n    pass\n',
        'found = [text for text in found if "not placed" in text]\n',
        'held = reason.label == "proof"\n',
    ],
)
def test_a_decision_by_words_is_found(planted: str) -> None:
    """Three that stood in planning before statements did."""
    assert by_words(planted)


def test_planning_shows_no_quantity() -> None:
    """What a number looks like is the reader's affair: planning imports none of what shows one."""
    shown = {"show", "show_duration", "spoken", "moment_text", "reworded"}
    for path in (ROOT / "planning").glob("*.py"):
        imported = {alias.name for node in ast.walk(ast.parse(path.read_text())) if isinstance(node, ast.ImportFrom) for alias in node.names}
        assert not imported & shown, path.name
