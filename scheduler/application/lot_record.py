"""The record of one lot, one step back and one step forward: everything in the ledger that is about it, in the order in which it happened."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from scheduler.application.ledger_view import LedgerView
from scheduler.application.lookup import lot_named, lots_of
from scheduler.facts.equipment import FREEZER
from scheduler.facts.fact import (
    HiveDied,
    HiveDisease,
    HiveTreatment,
    LarvaeSeen,
    LotReleased,
    Reading,
    Recorded,
    TaskBegun,
    TaskDone,
    TaskSkipped,
    Wanted,
)
from scheduler.facts.harvest import EVERY_HIVE, pulled_at
from scheduler.outputs.text.lot_sheet import Frozen, LotRecord, StepTold
from scheduler.outputs.wording.sentence import title_of
from scheduler.planning.planner import possible_ids
from scheduler.planning.task_ids import path_of

TOLD_LATE = 36 * 3600  # what was written down later than this after it happened says when [s]; assumed


def record_of(view: LedgerView, text: str) -> LotRecord:
    """The record of the lot that a person means by its path or the end of it. Raises `Fault` listing what it could be."""
    lots = lots_of(view)
    path = lot_named(text, lots)
    harvest, lot = lots[path]
    facts = [one.fact for one in view.facts]
    made_of, went_into = _back(view, path), _forward(view, path)
    hives = tuple(dict.fromkeys(hive for one in (path, *made_of) for hive in lots[one][0].hives))
    whose = {*hives, EVERY_HIVE}
    mixed = {name for one in (path, *went_into) for name in _back(view, one)}  # jars wanted of any of these are filled from what they are in together
    steps = tuple(_steps(view, (path, *made_of), went_into))
    return LotRecord(
        lot,
        harvest,
        None if harvest.harvest in view.ahead else int(pulled_at(harvest, view.zone).timestamp()),
        steps,
        tuple(_frozen(view, steps)),
        tuple(one for one in facts if isinstance(one, Reading) and one.of == path),
        tuple(one for one in facts if isinstance(one, HiveTreatment) and one.hive in whose),
        tuple(one for one in facts if isinstance(one, HiveDisease | HiveDied) and one.hive in whose),
        tuple(one for one in facts if isinstance(one, LarvaeSeen) and one.lot == path),
        tuple(one for one in facts if isinstance(one, LotReleased) and one.lot == path),
        tuple(one for one in facts if isinstance(one, Wanted) and (one.lot in (path, *went_into) or (one.lot in mixed and one.what == "jars"))),
        tuple(stop.kind for stop in view.plan.stops if path in stop.lots),
        hives,
        made_of,
        went_into,
    )


def _back(view: LedgerView, path: str) -> tuple[str, ...]:
    """The lots that met in one, and those that met in these."""
    return tuple(dict.fromkeys(name for one in view.parents.get(path, ()) for name in (one, *_back(view, one))))


def _forward(view: LedgerView, path: str) -> tuple[str, ...]:
    """The lots that one is part of."""
    return tuple(dict.fromkeys(name for made, of in view.parents.items() if path in of for name in (made, *_forward(view, made))))


def _steps(view: LedgerView, paths: Sequence[str], later: Sequence[str]) -> Iterator[StepTold]:
    """What became of the tasks of a lot and of those that met in it, of their whole harvests, and of the lots `later` made of it, in order."""
    about = {*paths, *later, *(path.partition("/")[0] for path in paths)}
    titles = {task.id: title_of(task) for task in view.plan.tasks}
    for one in view.facts:
        fact = one.fact
        if isinstance(fact, TaskDone | TaskBegun | TaskSkipped) and path_of(fact.task) in about:
            yield StepTold(fact.occurred_at, fact, titles.get(fact.task, fact.task), _late(one))


def _late(one: Recorded) -> int | None:
    return one.recorded_at if one.recorded_at > one.fact.occurred_at + TOLD_LATE else None


def _frozen(view: LedgerView, steps: tuple[StepTold, ...]) -> Iterator[Frozen]:
    """Each time in a freezer, with the readings of it meanwhile."""
    cards = [card for card in view.rules.cards if FREEZER in card.card.occupies]
    freezing = set(possible_ids(view.problem, cards)) | {task.id for task in view.plan.tasks if any(kind in view.yard.freezers for kind, _ in task.occupies)}
    begun = {step.fact.task: step.at for step in steps if isinstance(step.fact, TaskBegun) and step.fact.task in freezing}
    ended = {step.fact.task: step.at for step in steps if isinstance(step.fact, TaskDone) and step.fact.task in freezing}
    for task, since in begun.items():
        until = ended.get(task)
        rows = [value for air in view.air.values() for at, value in air.rows if since <= at <= (until or view.now)]
        yield Frozen(task, since, until, max(rows, default=None), min(rows, default=None))


def waits_of(view: LedgerView) -> dict[str, float]:
    """How long after a treatment supers are kept off, by active ingredient [s], as the table of the rule files has it; the label overrules it."""
    return {active: float(row["wait"]) for active, row in view.rules.treatments.items() if row.get("wait")}
