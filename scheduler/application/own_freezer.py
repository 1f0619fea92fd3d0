"""A keeper's own freezer by its own record: its surface coefficient and how it recovers from a warm load; used once the keeper agrees."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from scheduler.application.ledger_view import LedgerView
from scheduler.application.season_evidence import SURFACE
from scheduler.diagnostics import Fault
from scheduler.estimates import fitted_surface
from scheduler.estimates.callable_estimates import packed_load
from scheduler.estimates.fitted_surface import Cooling, Steady, steady_air, surface_coefficient
from scheduler.estimates.freezer_air import Air
from scheduler.facts.fact import SettingChanged
from scheduler.ledger.store import Ledger
from scheduler.outputs.wording.sentence import METRIC, in_words
from scheduler.planning.context import freezer as facts_of
from scheduler.planning.expand import Expansion
from scheduler.planning.holds import held
from scheduler.planning.planner import Planning
from scheduler.quantities import Estimate, Quantity, Words, celsius, elapsed, say, show, warmer

SURFACE_COEFFICIENT = "surface coefficient"
PACKED = "freeze_hold"  # the estimate of a hold of packed pieces


@dataclass(frozen=True, slots=True)
class OwnFreezer:
    """What a freezer's record tells: the fitted coefficient, the one that the plan uses [W/m²K, None: the usual range], recoveries by task [s]."""

    name: str
    fitted: Estimate
    used: float | None
    recoveries: tuple[tuple[str, float | None], ...]
    steady: Steady | None = None


def freezer_of(view: LedgerView, name: str | None) -> OwnFreezer:
    """What the record of a freezer tells; where the yard has one it need not be named. Raises `Fault`."""
    freezers = list(view.yard.freezers)
    if name is None and len(freezers) == 1:
        name = freezers[0]
    if name is None or name not in freezers:
        raise Fault("which freezer?" if name is None else f'"{name}" is not a freezer of this yard', " or ".join(freezers) or "a freezer under equipment")
    equipment = view.yard.equipment[name]
    loads = [(one.task, one.cooling) for one in loads_in(view, name)]
    own = equipment.temperature
    recoveries = tuple((task, fitted_surface.recovery(one.cells, own)) for task, one in loads) if own is not None else ()
    record = view.air.get(name)
    fitted = surface_coefficient([one for _, one in loads if one.core])
    return OwnFreezer(name, fitted, equipment.surface_coefficient, recoveries, steady_air([value for _, value in record.rows]) if record else None)


def agree(ledger: Ledger, found: OwnFreezer, now: int, units: str) -> str:
    """Use the low end of what was fitted from now on; returns it in a keeper's units. Raises `Fault` where nothing could be fitted."""
    if found.fitted.refusal:
        refusal = in_words(found.fitted.refusal, METRIC)
        raise Fault(refusal, "afterpull observe core temperature -9.5 °C --of LOT, while it cools and a log of the freezer's air runs")
    value = round(found.fitted.safe, 1)
    ledger.append([SettingChanged(occurred_at=now, name=SURFACE + found.name, value=f"{value:g} W/m2K")], now)
    return show(value, SURFACE_COEFFICIENT, units)


def report(found: OwnFreezer, units: str, *, page: bool = False) -> str:
    """What was found, in words; on a page without the command that uses it."""
    fitted, reader = found.fitted, METRIC._replace(units=units)
    value, low, high = (Quantity(number, SURFACE_COEFFICIENT) for number in (fitted.value, fitted.low, fitted.high))
    used = say("usual range") if found.used is None else say("surface coefficient", value=Quantity(found.used, SURFACE_COEFFICIENT))
    lines = [in_words(say("surface coefficient in use", name=found.name, used=used), reader)]
    if fitted.refusal:
        lines.append("  " + in_words(say("surface not fitted", why=fitted.refusal), reader))
    else:
        lines.append("  " + in_words(say("surface fitted", value=value, low=low, high=high), reader))
        lines += [f"    {in_words(line, reader)}" for line in fitted.basis]
        lines += [] if page else ["  " + in_words(say("plan with the low end", low=low, name=found.name), reader)]
    if found.steady is not None:
        steady = [celsius(value) for value in found.steady[:3]]
        lines.append("  " + in_words(say("steady air", usual=steady[0], low=steady[1], high=steady[2], rows=found.steady.rows), reader))
        lines += [] if page else ["  " + in_words(say("plan with the warm end", high=steady[2], name=found.name), reader)]
    within = warmer(fitted_surface.WITHIN)
    for task, seconds in found.recoveries:
        recovered = say("not recovered", within=within) if seconds is None else say("recovered", within=within, after=elapsed(seconds))
        lines.append("  " + in_words(say("after a load", task=task, says=recovered), reader))
    return "\n".join(lines)


class Lain(NamedTuple):
    """A batch of packed comb that lies, or lay, in a freezer with a record: its task, since when and until when its hold is [s], and how it cooled."""

    task: str
    title: Words
    begun: int
    until: int
    air: Air
    cooling: Cooling


def loads_in(view: LedgerView, name: str) -> Iterator[Lain]:
    """Each batch of packed comb that went in while the freezer's air was recorded, by task."""
    planning = Planning(view.problem)
    problem = planning.problem
    expansion = Expansion(problem, planning.pulls, planning.moments)
    planned = {task.id: task for task in view.plan.tasks}
    for draft in expansion.run():
        since = held(draft.id, draft.subject, problem.happened, problem.as_of)
        proof = since.proof(name) if since else None
        if since and proof and proof.air.proving is None and any(reason.says.get("name") == PACKED for holding in draft.holds for reason in holding):
            lot = expansion.contexts[draft.subject]["lot"]
            load = packed_load({"count": draft.count}, lot, facts_of(view.yard.equipment[name]), view.rules.trade)
            means = problem.happened.air[name].means(since.begun, proof.air)
            task = planned.get(draft.id)
            until = task.hold_done if task and task.is_open and task.hold_done is not None else since.until
            yield Lain(draft.id, draft.title, since.begun, until, proof.air, Cooling(load, means, proof.core))
