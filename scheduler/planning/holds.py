"""How long a task holds and what it occupies, for each freezer or rack; and what was recorded of a freezer since a load went into it."""

import math
from collections.abc import Mapping
from typing import Any, NamedTuple

from scheduler.estimates.freezer_air import SILENT, Air
from scheduler.facts.equipment import FREEZER
from scheduler.local_time import floor_to_minute
from scheduler.planning.draft import Happened, Subject
from scheduler.planning.network import Mode
from scheduler.planning.plan import Reason
from scheduler.quantities import Estimate, Quantity, Statement, Words, celsius, elapsed, instant, say
from scheduler.rules.amounts import Amount, amount
from scheduler.rules.environment import Environment
from scheduler.rules.numbers import LoadedParameter
from scheduler.rules.rule_set import LoadedCard

RECORDS = frozenset({"log of the air", "one reading of the air"})  # kinds of statement that say what was recorded of a freezer


class Proof(NamedTuple):
    """The air of one freezer since the hold began, the core of the lot as read (seconds since then, °C), and what is told of the record."""

    air: Air
    core: tuple[tuple[float, float], ...]
    reason: Reason

    def facts(self) -> Mapping[str, Any]:
        """What `freeze_hold` asks of a freezer whose record there is."""
        proving = {} if self.air.proving is None else {"proving": list(self.air.proving)}
        return {"record": list(self.air.cells), "core": [list(one) for one in self.core], **proving}

    def lasting(self, floor: float, cold: float) -> float:
        """Seconds until the floor [s] has run with the freezer at `cold` [°C] or below."""
        return self.air.lasting(floor, cold)


class Held(NamedTuple):
    """A hold that began, and until when it is looked at [s since 1970 UTC]: until the task was done, or now."""

    subject: Subject
    begun: int
    until: int
    happened: Happened

    def proof(self, freezer: str) -> Proof | None:
        """What was recorded in a freezer since; None where nothing was."""
        record = self.happened.air.get(freezer)
        air = record.since(self.begun, self.until) if record else None
        if air is None:
            return None
        read = self.happened.core.get(self.subject.path(), ())
        core = tuple((float(at - self.begun), value) for at, value in read if self.begun <= at <= self.until)
        return Proof(air, core, Reason("proof", _recorded(air, freezer)))


def held(task: str, subject: Subject, happened: Happened, as_of: int) -> Held | None:
    """The hold of a task that was begun, or done from a known beginning; None where no freezer has a record."""
    if not happened.air:
        return None
    start, finish = happened.done.get(task, (0, as_of))
    begun = happened.begun.get(task, start)
    return Held(subject, begun, finish, happened) if 0 < begun < finish else None


def uncounted(seconds: float, cold: float, rule: str) -> Reason:
    """Why a floor takes longer: time in which the freezer was not cold."""
    return Reason("floor extended", say("floor extended", limit=celsius(cold), warm=elapsed(seconds)), rule)


def _recorded(air: Air, freezer: str) -> Statement:
    silence = (say("logger silent", silent=elapsed(air.silent), counts_as=celsius(SILENT)),) if air.silent >= 60 else ()
    first, coldest = instant(air.first), celsius(air.coldest)
    if air.rows == 1:
        return say("one reading of the air", freezer=freezer, at=first, read=coldest, silence=silence, files=_files(air))
    last, warmest = instant(air.last), celsius(air.warmest)
    return say("log of the air", freezer=freezer, first=first, last=last, rows=air.rows, coldest=coldest, warmest=warmest, silence=silence, files=_files(air))


def _files(air: Air) -> tuple[Statement, ...]:
    """The files a record is from."""
    return (say("record from", files=air.files),) if air.files else ()


def room(measure: str | None, amount: float) -> Quantity | Statement:
    """An amount of equipment: a volume, or a count of what it takes."""
    return Quantity(amount, measure) if measure in ("space", "volume") else say("counted room", count=amount, measure=measure or "")


STEP = 300  # holds are told to five minutes, rounded up [s]


class Resource(NamedTuple):
    """A piece of equipment: its name, what kind it is, how much it holds (SI), by which measure, and its own facts for expressions."""

    name: str
    kind: str
    capacity: float
    measure: str
    facts: Mapping[str, Any]


class Holding(NamedTuple):
    """A mode with the reasons for its hold; `refusal` where the hold never ends."""

    mode: Mode
    reasons: tuple[Reason, ...]
    refusal: Statement | None = None

    @property
    def is_looked_at(self) -> bool:
        """Whether a look ends it, not its estimate."""
        return any(reason.says.kind == "ends with a look" for reason in self.reasons)


def ways(
    card: LoadedCard, env: Environment, equipment: Mapping[str, tuple[Resource, ...]], parameters: Mapping[str, LoadedParameter], held: Held | None = None
) -> list[Holding]:
    """One holding for each piece of equipment of the kinds occupied (several freezers are several modes); by its record where it was begun."""
    kinds = [kind for kind in (*card.card.occupies, *card.card.uses) if kind in equipment]
    choices: list[dict[str, Resource]] = [{}]
    for kind in kinds:
        choices = [{**choice, kind: resource} for choice in choices for resource in equipment[kind]]
    return [_holding(card, env, choice, parameters, held) for choice in choices]


def _holding(card: LoadedCard, env: Environment, choice: Mapping[str, Resource], parameters: Mapping[str, LoadedParameter], held: Held | None) -> Holding:
    freezer = choice.get(FREEZER)
    proof = held.proof(freezer.name) if held and freezer else None
    if freezer and freezer.facts:
        env = env.child(freezer={**freezer.facts, **proof.facts()} if proof else freezer.facts)
    hold, least, wait, reasons, refusal = _hold(card, env, parameters, proof)
    demands = []
    for kind, resource in choice.items():
        needed = resource.capacity if kind in card.card.uses else amount(card.card.occupies[kind], "any", env).value
        if needed > resource.capacity * (1 + 1e-9):
            holds = room(resource.measure, resource.capacity)
            refusal = refusal or say("load too large", needed=room(resource.measure, needed), resource=resource.name, holds=holds)
        if needed > 0:
            demands.append((resource.name, needed))
    warm = amount(card.card.loads, "mass", env).value if card.card.loads else 0.0
    loads = tuple((resource.name, warm) for kind, resource in choice.items() if kind == FREEZER and warm > 0)
    return Holding(Mode(hold, wait, tuple(demands), loads, least), tuple(reasons), refusal)


def _hold(
    card: LoadedCard, env: Environment, parameters: Mapping[str, LoadedParameter], proof: Proof | None
) -> tuple[int, int, int | None, list[Reason], Statement | None]:
    """The hold, the part of it that the estimate asks for (all of it where there is none), how long its end may wait, the reasons, and why it never ends."""
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
            return 0, 0, None, reasons, refused or say("hold never ends")
    floor = amount(hold.at_least, "duration", env) if hold.at_least else None
    look = amount(hold.look_at, "duration", env) if hold.look_at else None
    wait = amount(hold.wait_at_most, "duration", env) if hold.wait_at_most else None
    if floor:
        reasons.append(_limit("floor", floor, parameters, rule))
        cold = float(env.names["trade"]["kills_from"]) if proof else 0.0
        lasting = proof.lasting(floor.value, cold) if proof else floor.value
        if lasting > floor.value:
            reasons.append(uncounted(lasting - floor.value, cold, rule))
        if lasting > value:
            value, bound = lasting, "floor"
    if look:
        reasons.append(_limit("look at", look, parameters, rule))
        if value > look.value:
            reasons.append(Reason("bound by look", say("ends with a look", computed=elapsed(value), look=elapsed(look.value)), rule))
            value, bound = look.value, "look"
    if wait:
        reasons.append(_limit("wait at most", wait, parameters, rule))
    seconds = _stepped(value)
    if bound != "look" and (hold.estimate or floor):
        reasons.append(Reason(f"bound by {bound}", say("hold set by", hold=elapsed(seconds), bound=bound), rule))
    needed = min(seconds, _stepped(found.value)) if found else seconds
    return seconds, needed, max(0, floor_to_minute(wait.value)) if wait else None, reasons, None


def _stepped(seconds: float) -> int:
    return math.ceil(seconds / STEP - 1e-9) * STEP


def taken_out_early(title: Words, held: Held, holding: Holding) -> Statement | None:
    """What to tell where a load was taken out early: before its freezer's record proved the kill, or with that proved, before the habitual time was over.

    None where both were, or nothing was recorded.
    """
    lasted = held.until - held.begun
    if not any(reason.says.kind in RECORDS for reason in holding.reasons) or (holding.refusal is None and holding.mode.hold <= lasted + STEP):
        return None
    if holding.refusal is None and holding.mode.needed <= lasted + STEP and _proved(holding):
        return say("habit not met", title=title, lasted=elapsed(lasted), habit=elapsed(holding.mode.hold))
    short = say("needed so long", hold=elapsed(holding.mode.needed)) if holding.mode.needed > lasted + STEP else say("kill not proved")
    needed = holding.refusal or short
    return say("hold not proved", title=title, lasted=elapsed(lasted), needed=needed)


def _proved(holding: Holding) -> bool:
    """Whether the record proved the kill."""
    return any(line.kind == "proved" for reason in holding.reasons if reason.says.kind == "estimated" for line in dict(reason.says.values)["basis"])


def estimated(name: str, estimate: Estimate, rule: str) -> Reason:
    """What an estimate said, with its range, basis and sources."""
    if estimate.refusal:
        return Reason(f"estimate {name}", say("estimate refused", name=name, refusal=estimate.refusal), rule, estimate.sources)
    value, low, high = (Quantity(number, estimate.dimension) for number in (estimate.value, estimate.low, estimate.high))
    return Reason(f"estimate {name}", say("estimated", name=name, value=value, low=low, high=high, basis=estimate.basis), rule, estimate.sources)


def _limit(kind: str, found: Amount, parameters: Mapping[str, LoadedParameter], rule: str) -> Reason:
    value = elapsed(found.value)
    parameter = parameters.get(found.parameter) if found.parameter else None
    if parameter is None:
        return Reason(kind, say("limit", limit=kind, value=value), rule)
    before = (say("instead of", before=parameter.replaces),) if parameter.replaces else ()
    says = say("limit by a parameter", limit=kind, value=value, basis=parameter.basis, before=before)
    return Reason(f"parameter {parameter.name}", says, f"{parameter.path}:{parameter.line}", parameter.sources)
