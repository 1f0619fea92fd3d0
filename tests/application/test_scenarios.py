"""A scenario says what is otherwise than expected, each thing at its own key, and is content where nothing is. The cards are invented."""

from __future__ import annotations

from pathlib import Path
from textwrap import dedent

import pytest

from scheduler.application.scenarios import ScenarioResult, run_file, scenario_problem

RULES = dedent("""\
    ruleset: mine
    version: 1
    cautions: {lids: {say: Keep the lids on.}}
    parameters: {rest: {value: 12 h, basis: assumed, checked: 2026-11-25}}
    tasks:
      rest in peace:
        title: Rest {lot.pieces} pieces
        for: cut comb
        hold: {at least: $rest}
        alerts: [{at: hold done, say: Rested enough}]
        caution: [lids]
        why: Invented.
      look after it:
        title: Look
        for: cut comb
        after: {rest in peace: {}}
        why: Invented.
    scenarios:
    """)


def results(tmp_path: Path, expect: str, given: str = "{}", more: str = "") -> list[ScenarioResult]:
    """One scenario in a rule file of a keeper's own, run."""
    text = f"{RULES}  - name: as told\n    given: {given}\n    expect: {expect}\n{more}"
    path = tmp_path / "mine.yaml"
    path.write_text(text, encoding="utf-8")
    return list(run_file(text.encode(), str(path)))


def faults(tmp_path: Path, expect: str, given: str = "{}", more: str = "") -> list[str]:
    """What was not as expected, without its place."""
    [found] = results(tmp_path, expect, given, more)
    return [one.message.removeprefix("as told: ") for one in found.faults]


@pytest.mark.parametrize(
    "expect",
    [
        "{rest in peace: {exists: true, count: 1, batches: 1, hold: 12 h, status: planned}}",
        "{rest in peace: {hold: between 11 h and 13 h, says: Rested enough, because: parameter rest, caution: lids on}}",
        "{rest in peace: {hold: at least 12 h}, look after it: {start: after rest in peace}}",
        "{rest in peace: {hold: at most 12 h, finish: before look after it}}",
        "{rest in peace: {start: between 2026-08-11T17:30 and 2026-08-11T21:30, says: Rest 2}}",
    ],
)
def test_what_is_as_expected_is_no_fault(expect: str, tmp_path: Path) -> None:
    """A rest of twelve hours and a look after it."""
    assert faults(tmp_path, expect) == []


@pytest.mark.parametrize(
    ("expect", "said"),
    [
        ("{rest in peace: {exists: false}}", "rest in peace > exists: the card made ridge-2/a/rest-in-peace"),
        ("{rest in peace: {count: 2}}", "rest in peace > count: 1 tasks, expected 2"),
        ("{rest in peace: {batches: 2}}", "rest in peace > batches: 1 batches, expected 2"),
        ("{rest in peace: {hold: at least 13 h}}", "rest in peace > hold: ridge-2/a/rest-in-peace holds 12 h, expected at least 13 h"),
        ("{rest in peace: {hold: at most 11 h}}", "rest in peace > hold: ridge-2/a/rest-in-peace holds 12 h, expected at most 11 h"),
        ("{rest in peace: {hold: between 1 h and 2 h}}", "rest in peace > hold: ridge-2/a/rest-in-peace holds 12 h, expected between 1 h and 2 h"),
        ("{rest in peace: {hold: 11 h}}", "rest in peace > hold: ridge-2/a/rest-in-peace holds 12 h, expected 11 h"),
        ("{rest in peace: {start: between 2026-08-12T00:00 and 2026-08-13T00:00}}", "rest in peace > start: is 2026-08-11T"),
        ("{rest in peace: {start: after look after it}}", "rest in peace > start: is 2026-08-11T"),
        ("{look after it: {finish: before rest in peace}}", "look after it > finish: is 2026-08-1"),
        ("{rest in peace: {start: after tea}}", 'rest in peace > start: there is no task of "tea" to compare with'),
        ("{rest in peace: {status: provisional}}", "rest in peace > status: is planned, expected provisional"),
        ("{rest in peace: {because: window dusk}}", 'rest in peace > because: "window dusk" is not among the reasons: '),
        ("{rest in peace: {says: Wake}}", 'rest in peace > says: "Wake" is said nowhere: Rest '),
        ("{rest in peace: {caution: gloves}}", 'rest in peace > caution: "gloves" is not among the cautions'),
    ],
)
def test_what_is_otherwise_is_told_at_its_key(expect: str, said: str, tmp_path: Path) -> None:
    """One fault, and no more."""
    found = faults(tmp_path, expect)
    assert len(found) == 1
    assert found[0].startswith(said)


def test_a_card_that_makes_no_task_fails_unless_that_was_expected(tmp_path: Path) -> None:
    """No lot of cut comb was pulled."""
    given = "{lots: [{id: b, kind: extracted, frames: 14, frame: medium}]}"
    assert faults(tmp_path, "{rest in peace: {hold: 12 h}}", given) == ["rest in peace > exists: the card made no task"]
    assert faults(tmp_path, "{rest in peace: {exists: false}}", given) == []


def test_a_task_that_a_stop_holds_back_has_no_start_to_compare(tmp_path: Path) -> None:
    """Foulbrood in a hive it came from."""
    text = RULES.replace("    why: Invented.\n", "    brings to: table\n    why: Invented.\n", 1)
    given = "{lot: {disease: foulbrood}}"
    path = tmp_path / "mine.yaml"
    text += f"  - name: as told\n    given: {given}\n    expect: {{rest in peace: {{start: after look after it, status: held back}}}}\n"
    path.write_text(text, encoding="utf-8")
    [found] = run_file(text.encode(), str(path))
    assert [one.message for one in found.faults] == ["as told: rest in peace > start: is held back, without a time"]


def test_a_warning_is_expected_by_its_kind_or_by_words_of_it(tmp_path: Path) -> None:
    """Where robbing is not set, the plan says so."""
    given = "{season: {robbing: null, main flow ends: null}}"
    assert faults(tmp_path, "{}", given, "    warnings: [season not set, robbing season is not set]\n") == []
    [missing] = faults(tmp_path, "{}", given, "    warnings: [deadline missed]\n")
    assert missing.startswith('no warning "deadline missed"; told: ')


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ("{room: {temperature: 200 °C}}", "scenario yard: "),
        ("{as of: soon}", '"soon" is not a time'),
    ],
)
def test_what_can_not_be_given_is_told_with_the_scenarios_line(given: str, said: str, tmp_path: Path) -> None:
    """The run goes on with the next."""
    [found] = results(tmp_path, "{rest in peace: {exists: true}}", given)
    assert found.line == RULES.count("\n") + 1
    assert [one.line for one in found.faults] == [found.line]
    assert said in found.faults[0].message


def test_what_is_given_lies_over_the_scenario_yard_and_harvest() -> None:
    """Key by key, the rest as it was; null takes a key away; a lot of another kind stands alone."""
    usual = scenario_problem({})
    found = scenario_problem({"freezer": {"space": "40 L"}, "season": {"robbing": None}, "lot": {"moisture": "19 %"}, "as of": "2026-08-12T08:00"})
    assert found.yard.freezers["freezer"].space == pytest.approx(0.04)
    assert found.yard.freezers["freezer"].temperature == usual.yard.freezers["freezer"].temperature
    assert not found.yard.season.model_fields_set & {"robbing"}
    assert [lot.moisture for lot in found.harvests[0].lots] == [pytest.approx(0.19), usual.harvests[0].lots[1].moisture]
    assert found.as_of - usual.as_of == 77_400  # 21.5 h after the pull
    assert [lot.kind for lot in scenario_problem({"lot": {"kind": "extracted"}}).harvests[0].lots] == ["extracted"]


def test_a_treatment_is_given_as_it_is_told() -> None:
    """Without an end it goes on."""
    problem = scenario_problem({"treatments": [{"of": "north", "begins": "2026-08-10T18:00", "with": "formic acid"}]})
    assert [(one.hive, one.active, one.ends) for one in problem.happened.treatments] == [("north", "formic acid", None)]


def test_a_task_that_is_impossible_is_a_fault_unless_the_scenario_asks_for_it(tmp_path: Path) -> None:
    """In a freezer that never kills there is a task, and it can never be done: whoever only counts it is told."""
    given = "{freezer: {temperature: -3 °C}}"
    for expect, said in (
        ("{cut comb/freeze: {count: 1}}", "cut comb/freeze > status: is held back, and this scenario does not ask for that"),
        ("{cut comb/freeze: {count: 1, status: held back}}", None),
    ):
        assert faults(tmp_path, expect, given) == ([said] if said else [])
