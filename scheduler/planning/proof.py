"""Proof of a hold: what was recorded of a freezer since a load went into it."""

from collections.abc import Mapping
from datetime import tzinfo
from typing import Any, NamedTuple

from scheduler.estimates.cold_record import COLD, SILENT, Air
from scheduler.local_time import spoken
from scheduler.planning.drafts import Happened, Subject
from scheduler.planning.plan import Reason
from scheduler.quantities import show, show_duration


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
        read = self.happened.core.get(f"{self.subject.harvest}/{self.subject.lot}", ())
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
