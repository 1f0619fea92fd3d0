"""Scenarios in rule files: the same pass as a real plan, its facts laid over the scenario yard and harvest."""

from __future__ import annotations

import copy
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from scheduler.application.plan_files import moment, usual_season
from scheduler.diagnostics import Diagnostic, Fault, Refused
from scheduler.documents import Document, read, record
from scheduler.facts.harvest import Harvest, pulled_at, still_ahead
from scheduler.facts.yard import Yard
from scheduler.outputs.wording.sentence import Reader, how_of, in_words, reader_of, title_of, words_of
from scheduler.planning.blends import with_blends
from scheduler.planning.draft import NOTHING, Treatment, Want
from scheduler.planning.plan import Plan, PlannedTask
from scheduler.planning.planner import plan
from scheduler.planning.problem import Problem
from scheduler.quantities import parse, show_duration
from scheduler.rules.load import bundled, load
from scheduler.rules.rule_set import Rules, card_name
from scheduler.rules.schema import Expectation, RuleSet, Scenario


@dataclass(frozen=True)
class ScenarioResult:
    """How one scenario went: its place, its name, and what was not as expected."""

    path: str
    line: int
    name: str
    faults: tuple[Diagnostic, ...]


def run_file(content: bytes, path: str, others: tuple[str, ...] = ()) -> Iterator[ScenarioResult]:
    """Run the scenarios of one rule file; an overlay and a keeper's own file are laid over the bundled sets first, and then `others`."""
    document = read(content, path, "rules")
    rules = record(document, RuleSet)
    known = {one.name for one in bundled().iterdir()} if Path(path).resolve().parent == Path(str(bundled())).resolve() else set()
    own = (path,) if Path(path).name not in known else (rules.ruleset,) if rules.overlay else ()
    for i, scenario in enumerate(rules.scenarios):
        loc = ("scenarios", i)
        try:
            faults = tuple(_faults(document, loc, rules.ruleset, scenario, (*own, *others)))
        except Refused as refused:
            faults = tuple(document.fault(loc, f"{scenario.name}: {one.path}: {one.message}", one.write) for one in refused.diagnostics)
        except Fault as fault:
            faults = (document.fault(loc, f"{scenario.name}: {fault.message}", fault.write),)
        yield ScenarioResult(path, document.place(loc)[0], scenario.name, faults)


def scenario_problem(given: Mapping[str, Any], keeper_files: tuple[str, ...] = ()) -> Problem:
    """The scenario yard and harvest with what is given laid over them."""
    yard, harvest = (copy.deepcopy(_scenario_file(name)) for name in ("yard.yaml", "harvest.yaml"))
    _lay(yard, given.get("yard", {}))
    for key in ("room", "store", "season"):
        if key in given:
            _lay(yard, {key: given[key]})
    for key in ("freezer", "drain rack"):
        if key in given:
            _lay(yard, {"equipment": {key: given[key]}})
    if "parameters" in given:
        _lay(yard, {"changes": {name: {"parameters": changes} for name, changes in given["parameters"].items()}})
    yard["rules"] = [*yard.get("rules", []), *given.get("rules", [])]
    _lay(harvest, given.get("harvest", {}))
    if "lots" in given:
        harvest["lots"] = given["lots"]
    if "lot" in given:
        harvest["lots"] = [{**harvest["lots"][0], **given["lot"]}, *([] if "kind" in given["lot"] else harvest["lots"][1:])]
    place = record(Document("scenario yard", yard, None), Yard)
    rules = _rules((*place.rules, *keeper_files), place)
    known = {"products": rules.products.known}
    pull = record(Document("scenario harvest", harvest, None), Harvest, context=known)
    others = tuple(record(Document("scenario harvest", {**harvest, **other}, None), Harvest, context=known) for other in given.get("other pulls", ()))
    as_of = moment(str(given["as of"]), place) if "as of" in given else int(pulled_at(pull, ZoneInfo(place.place.timezone)).timestamp())
    harvests, parents = with_blends((pull, *others), rules.trade)
    happened = NOTHING._replace(
        parents=parents,
        reckoned=frozenset(parents),
        treatments=tuple(_treatment(one, place) for one in given.get("treatments", ())),
        done={str(task): (moment(str(at), place),) * 2 for task, at in given.get("done", {}).items()},
        released={str(lot): (as_of, "") for lot in given.get("released", ())},
        died={str(hive): as_of for hive in given.get("died", ())},
        dead={str(hive): as_of for hive in given.get("died", ())},
        queen_above={str(harvest): tuple(map(str, hives)) for harvest, hives in given.get("queen above", {}).items()},
        wants=tuple(_want(number, one, place) for number, one in enumerate(given.get("wants", ()), 1)),
        larvae={str(lot): str(seen) for lot, seen in given.get("larvae", {}).items()},
    )
    ahead = still_ahead((pull, *others), ZoneInfo(place.place.timezone), as_of) if "as of" in given else {}
    return Problem(place, rules, harvests, as_of, usual_season(place, as_of), happened, ahead=ahead)


def _treatment(given: Mapping[str, Any], yard: Yard) -> Treatment:
    """A treatment as told: "{of: north, begins: 2026-08-12T18:00, ends: ..., with: formic acid}"."""
    ends = moment(str(given["ends"]), yard) if "ends" in given else None
    return Treatment(str(given["of"]), moment(str(given["begins"]), yard), ends, given.get("with"))


def _want(number: int, given: Mapping[str, Any], yard: Yard) -> Want:
    """What is wanted: "{of: ridge-2/a, packages: 12, by: 2026-09-05T08:00}"."""
    what = "packages" if "packages" in given else "jars"
    return Want(str(given["of"]), what, number, int(given[what]), moment(str(given["by"]), yard))


def _rules(names: tuple[str, ...], yard: Yard) -> Rules:
    return load(names, yard.changes, of_yard=yard.kinds.values())


@lru_cache(maxsize=4)
def _scenario_file(name: str) -> Any:
    return read((bundled() / "scenarios" / name).read_bytes(), f"rulesets/scenarios/{name}").data


def _lay(base: dict[str, Any], over: Mapping[str, Any]) -> None:
    """Lay a mapping over another, key by key; null takes a key away."""
    for key, value in over.items():
        if value is None:
            base.pop(key, None)
        elif isinstance(value, Mapping) and isinstance(base.get(key), dict):
            _lay(base[key], value)
        else:
            base[key] = copy.deepcopy(value)


def _faults(document: Document, loc: tuple[str | int, ...], set_name: str, scenario: Scenario, keeper_files: tuple[str, ...]) -> Iterator[Diagnostic]:
    problem = scenario_problem(scenario.given, keeper_files)
    found = plan(problem, cures=False)  # which take longer than the plan; a scenario expects none
    for card, expected in scenario.expect.items():
        key = problem.rules.resolve(set_name, card)
        tasks = [task for task in found.tasks if task.rule == key]
        for field, text in _differences(expected, tasks, found, problem):
            yield document.fault((*loc, "expect", card, field), f"{scenario.name}: {card} > {field}: {text}")
    for i, words in enumerate(scenario.warnings):
        told = [(warning.kind, in_words(warning.says, reader_of(found))) for warning in found.warnings]
        if not any(words == kind or words in text for kind, text in told):
            told_all = "; ".join(f"{kind}: {text}" for kind, text in told) or "none"
            yield document.fault((*loc, "warnings", i), f'{scenario.name}: no warning "{words}"; told: {told_all}')


def _differences(expected: Expectation, tasks: list[PlannedTask], found: Plan, problem: Problem) -> Iterator[tuple[str, str]]:
    exists = expected.exists if expected.exists is not None else True
    if bool(tasks) != exists:
        yield "exists", "the card made no task" if exists else f"the card made {', '.join(task.id for task in tasks)}"
    if not tasks:
        return
    yield from _counts(expected, tasks)
    if expected.hold is not None:
        for task in tasks:
            hold = (task.hold_done or task.holds_from) - task.holds_from
            if not _within(hold, expected.hold):
                yield "hold", f"{task.id} holds {show_duration(hold)}, expected {expected.hold}"
    for field, moment_of in (("start", tasks[0].start), ("finish", max(task.finish for task in tasks))):
        wanted = getattr(expected, field)
        if wanted is not None and not tasks[0].has_time:
            yield field, f"is {tasks[0].status}, without a time"
        elif wanted is not None and (text := _when(wanted, moment_of, found, problem)):
            yield field, text
    if expected.status is None and (without := [task for task in tasks if task.status in ("impossible", "held back")]):
        yield "status", f"is {without[0].status}, and this scenario does not ask for that"
    if expected.status is not None and any(task.status != expected.status for task in tasks):
        yield "status", f"is {', '.join(sorted({task.status for task in tasks}))}, expected {expected.status}"
    yield from _words_of(expected, tasks, reader_of(found))


def _counts(expected: Expectation, tasks: list[PlannedTask]) -> Iterator[tuple[str, str]]:
    if expected.count is not None and len(tasks) != expected.count:
        yield "count", f"{len(tasks)} tasks, expected {expected.count}"
    batches = len({(task.harvest, task.lot, task.batch) for task in tasks})
    if expected.batches is not None and batches != expected.batches:
        yield "batches", f"{batches} batches, expected {expected.batches}"


def _words_of(expected: Expectation, tasks: list[PlannedTask], reader: Reader) -> Iterator[tuple[str, str]]:
    labels = {reason.label for task in tasks for reason in task.reasons}
    for label in expected.because:
        if label not in labels:
            yield "because", f'"{label}" is not among the reasons: {", ".join(sorted(labels))}'
    because = {in_words(reason.says, reader): None for task in tasks for reason in task.reasons} if expected.says is not None else {}
    texts = [text for task in tasks for text in (title_of(task), *filter(None, [how_of(task)]), *(words_of(told.say) for told in task.alerts))]
    if expected.says is not None and not any(expected.says in text for text in (*texts, *because)):
        yield "says", f'"{expected.says}" is said nowhere: {" | ".join((*texts, *because))[:400]}'
    for caution in expected.caution:
        if not any(caution in text for task in tasks for text in task.cautions):
            yield "caution", f'"{caution}" is not among the cautions'


def _within(seconds: float, text: str) -> bool:
    words = text.strip()
    if words.startswith("between "):
        low, _, high = words.removeprefix("between ").partition(" and ")
        return parse(low, "duration") <= seconds <= parse(high, "duration")
    if words.startswith("at least "):
        return seconds >= parse(words.removeprefix("at least "), "duration")
    if words.startswith("at most "):
        return seconds <= parse(words.removeprefix("at most "), "duration")
    return abs(seconds - parse(words, "duration")) < 1


def _when(text: str, at: int, found: Plan, problem: Problem) -> str | None:
    """Why a moment is not when it was expected: a range of local times, or before or after another card."""
    zone = ZoneInfo(found.timezone)
    words, shown = text.strip(), datetime.fromtimestamp(at, zone).strftime("%Y-%m-%dT%H:%M")
    if words.startswith("between "):
        low, _, high = words.removeprefix("between ").partition(" and ")
        right = moment(low, problem.yard) <= at <= moment(high, problem.yard)
        return None if right else f"is {shown}, expected {text}"
    order, _, card = words.partition(" ")
    others = [task for task in found.tasks if card_name(task.rule) == card or task.rule == card]
    if not others:
        return f'there is no task of "{card}" to compare with'
    right = at >= max(task.finish for task in others) if order == "after" else at <= min(task.start for task in others)
    return None if right else f"is {shown}, not {text}"


def bundled_files() -> list[Path]:
    """The bundled rule files, in order of name."""
    return sorted(Path(str(path)) for path in bundled().iterdir() if path.name.endswith(".yaml"))
