"""How long a task holds and what it occupies, for each freezer or rack; and what was recorded of a freezer since a load went into it."""

import math
from collections.abc import Mapping
from datetime import tzinfo
from typing import Any, NamedTuple

from scheduler.estimates.freezer_air import COLD, SILENT, Air
from scheduler.facts.equipment import FREEZER
from scheduler.local_time import floor_to_minute, spoken
from scheduler.planning.draft import Happened, Subject
from scheduler.planning.network import Mode
from scheduler.planning.plan import Reason
from scheduler.quantities import Estimate, show, show_duration
from scheduler.rules.amounts import Amount, amount
from scheduler.rules.cel import Environment
from scheduler.rules.rule_set import LoadedCard, LoadedParameter


class Proof(NamedTuple):
    """The air of one freezer since the hold began, the core of the lot as read (seconds since then, °C), and the record in words."""

    air: Air
    core: tuple[tuple[float, float], ...]
    reason: Reason

    def facts(self) -> Mapping[str, Any]:
        """What `freeze_hold` asks of a freezer whose record there is."""
        return {"record": list(self.air.cells), "core": [list(one) for one in self.core]}

    def lasting(self, floor: float) -> float:
        """Seconds until the floor [s] has run with the freezer cold."""
        return self.air.lasting(floor)


class Held(NamedTuple):
    """A hold that began, and until when it is looked at [s since 1970 UTC]: until the task was done, or now."""

    subject: Subject
    begun: int
    until: int
    happened: Happened
    zone: tzinfo

    def proof(self, freezer: str) -> Proof | None:
        """What was recorded in a freezer since; None where nothing was."""
        record = self.happened.air.get(freezer)
        air = record.since(self.begun, self.until) if record else None
        if air is None:
            return None
        read = self.happened.core.get(self.subject.path(), ())
        core = tuple((float(at - self.begun), value) for at, value in read if self.begun <= at <= self.until)
        return Proof(air, core, Reason("proof", _told(air, freezer, self.zone)))


def held(task: str, subject: Subject, happened: Happened, as_of: int, zone: tzinfo) -> Held | None:
    """The hold of a task that was begun, or done from a known beginning; None where no freezer has a record."""
    if not happened.air:
        return None
    start, finish = happened.done.get(task, (0, as_of))
    begun = happened.begun.get(task, start)
    return Held(subject, begun, finish, happened, zone) if 0 < begun < finish else None


def uncounted(seconds: float, rule: str) -> Reason:
    """Why a floor takes longer: time in which the freezer was not cold."""
    return Reason(
        "floor extended", f"the freezer was warmer than {show(COLD, 'temperature')} for {show_duration(seconds)}, which does not count towards the floor", rule
    )


def _told(air: Air, freezer: str, zone: tzinfo) -> str:
    several = air.rows > 1
    span = f"{spoken(air.first, zone)} to {spoken(air.last, zone)}" if several else spoken(air.first, zone)
    degrees = f"{show(air.coldest, 'temperature')} to {show(air.warmest, 'temperature')}" if several else show(air.coldest, "temperature")
    silent = f"; silent for {show_duration(air.silent)}, which counts as {show(SILENT, 'temperature')} (assumed)" if air.silent >= 60 else ""
    return f"{freezer} log {span}: {air.rows} reading{'s' * several}, {degrees}{silent}"


STEP = 300  # holds are told to five minutes, rounded up [s]


class Resource(NamedTuple):
    """A piece of equipment: its name, what kind it is, how much it holds (SI), by which measure, and its own facts for expressions."""

    name: str
    kind: str
    capacity: float
    measure: str
    facts: Mapping[str, Any]

    def told(self, amount: float) -> str:
        """An amount of it for a person."""
        return show(amount, "volume") if self.measure in ("space", "volume") else f"{amount:g} {self.measure}"


class Holding(NamedTuple):
    """A mode with the reasons for its hold; `refusal` where the hold never ends."""

    mode: Mode
    reasons: tuple[Reason, ...]
    refusal: str | None = None


def ways(
    card: LoadedCard, env: Environment, equipment: Mapping[str, tuple[Resource, ...]], parameters: Mapping[str, LoadedParameter], held: Held | None = None
) -> list[Holding]:
    """One holding for each piece of equipment of the kinds occupied (several freezers are several modes); by its record where it was begun."""
    kinds = [kind for kind in card.card.occupies if kind in equipment]
    choices: list[dict[str, Resource]] = [{}]
    for kind in kinds:
        choices = [{**choice, kind: resource} for choice in choices for resource in equipment[kind]]
    return [_holding(card, env, choice, parameters, held) for choice in choices]


def _holding(card: LoadedCard, env: Environment, choice: Mapping[str, Resource], parameters: Mapping[str, LoadedParameter], held: Held | None) -> Holding:
    freezer = choice.get(FREEZER)
    proof = held.proof(freezer.name) if held and freezer else None
    if freezer and freezer.facts:
        env = env.child(freezer={**freezer.facts, **proof.facts()} if proof else freezer.facts)
    hold, least, most, reasons, refusal = _hold(card, env, parameters, proof)
    demands = []
    for kind, resource in choice.items():
        needed = amount(card.card.occupies[kind], "any", env).value
        if needed > resource.capacity * (1 + 1e-9):
            refusal = refusal or f"one load needs {resource.told(needed)} of the {resource.name}, which holds {resource.told(resource.capacity)}"
        if needed > 0:
            demands.append((resource.name, needed))
    warm = amount(card.card.loads, "mass", env).value if card.card.loads else 0.0
    loads = tuple((resource.name, warm) for kind, resource in choice.items() if kind == FREEZER and warm > 0)
    return Holding(Mode(hold, most, tuple(demands), loads, least), tuple(reasons), refusal)


def _hold(
    card: LoadedCard, env: Environment, parameters: Mapping[str, LoadedParameter], proof: Proof | None
) -> tuple[int, int, int | None, list[Reason], str | None]:
    """The hold, the part of it that the estimate asks for (all of it where there is none), its most, the reasons, and why it never ends."""
    hold = card.card.hold
    if hold is None:
        return 0, 0, None, [], None
    rule = card.place
    reasons = [proof.reason] if proof else []
    value, bound = 0.0, "estimate"
    found = amount(hold.estimate, "duration", env) if hold.estimate else None
    if found:
        value = found.value
        reasons += [estimated(name, estimate, rule) for name, estimate in found.estimates]
        refused = next((estimate.refusal for _, estimate in found.estimates if estimate.refusal), None)
        if math.isinf(value) or math.isnan(value):
            return 0, 0, None, reasons, refused or "the hold never ends with these values"
    floor = amount(hold.at_least, "duration", env) if hold.at_least else None
    ceiling = amount(hold.at_most, "duration", env) if hold.at_most else None
    if floor:
        reasons.append(_limit("floor", floor, parameters, rule))
        lasting = proof.lasting(floor.value) if proof else floor.value
        if lasting > floor.value:
            reasons.append(uncounted(lasting - floor.value, rule))
        if lasting > value:
            value, bound = lasting, "floor"
    if ceiling:
        reasons.append(_limit("ceiling", ceiling, parameters, rule))
        if value > ceiling.value:
            reasons.append(Reason("bound by ceiling", f"computed {show_duration(value)}, cut to the ceiling of {show_duration(ceiling.value)}", rule))
            value, bound = ceiling.value, "ceiling"
    seconds = _stepped(value)
    if bound != "ceiling" and (hold.estimate or floor):
        reasons.append(Reason(f"bound by {bound}", f"holds {show_duration(seconds)}, set by the {bound}", rule))
    return seconds, _stepped(found.value) if found else seconds, max(seconds, floor_to_minute(ceiling.value)) if ceiling else None, reasons, None


def _stepped(seconds: float) -> int:
    return math.ceil(seconds / STEP - 1e-9) * STEP


def taken_out_early(title: str, held: Held, holding: Holding) -> str | None:
    """What to tell where a load was taken out before its freezer's record proved the hold; None where it was proved, or nothing was recorded."""
    lasted = held.until - held.begun
    if not any(reason.label == "proof" for reason in holding.reasons) or (holding.refusal is None and holding.mode.hold <= lasted + STEP):
        return None
    needed = holding.refusal or f"it needed {show_duration(holding.mode.hold)}"
    told = f"{title}: taken out after {show_duration(lasted)}, and by the freezer's record {needed}"
    return f"{told}. Freeze it again, or keep it where moths can not come to other comb"


def estimated(name: str, estimate: Estimate, rule: str) -> Reason:
    """What an estimate said, with its range, basis and sources."""
    if estimate.refusal:
        return Reason(f"estimate {name}", f"{name}: {estimate.refusal}", rule, estimate.sources)
    spread = (
        f"{show_duration(estimate.value)} ({show_duration(estimate.low)} to {show_duration(estimate.high)})"
        if estimate.dimension == "duration"
        else f"{estimate.value:.4g}"
    )
    basis = f": {'; '.join(estimate.basis)}" if estimate.basis else ""
    return Reason(f"estimate {name}", f"{name} {spread}{basis}", rule, estimate.sources)


def _limit(kind: str, found: Amount, parameters: Mapping[str, LoadedParameter], rule: str) -> Reason:
    words = f"{kind} {show_duration(found.value)}"
    parameter = parameters.get(found.parameter) if found.parameter else None
    if parameter is None:
        return Reason(kind, words, rule)
    changed = f", instead of {parameter.replaces}" if parameter.replaces else ""
    return Reason(f"parameter {parameter.name}", f"{words}, {parameter.basis}{changed}", f"{parameter.path}:{parameter.line}", parameter.sources)
