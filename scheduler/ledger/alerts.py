"""Alerts: each is delivered at least once, and twice only where a watch died between sending it and recording that.

A watch claims what is due for a while, sends it, and records the delivery; a claim that runs out is free again. What a clock that was ahead
has left behind does not count: a claim or a lease longer than any is given, a delivery or an answer at a time still to come, an attempt set for
later than any is. All moments are arguments, whole seconds since 1970 UTC.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from sqlalchemy import ColumnElement, Connection, and_, case, delete, func, insert, or_, select, update

from scheduler.ledger.connections import Connections
from scheduler.ledger.tables import alerts, leases
from scheduler.local_time import DAY, HOUR

HELD = "quiet hours"  # why an alert waits that no channel has refused
SLACK = 90  # s by which the clocks of a yard's machines may differ, or be set
RETRY = HOUR  # s within which a refused message is tried again (DESIGN)
REACH = 2 * DAY  # s within which any other attempt lies: quiet hours end, "tomorrow morning" comes
_UNSENT: dict[str, Any] = {"told_at": None, "channel": None, "acknowledged_at": None, "attempts": 0, "failure": None}


@dataclass(frozen=True, slots=True)
class PlannedAlert:
    """An alert of the plan. `id` is stable from plan to plan (task and which of its alerts); `loss` is what is lost without it."""

    id: str
    task: str
    due_at: int
    say: str
    loss: str


@dataclass(frozen=True, slots=True)
class StoredAlert:
    """A row of the table: an alert and its delivery. `next_attempt_at` is None where nothing more is to be sent; `failure` says why the last attempt failed."""

    id: str
    task: str
    due_at: int
    say: str
    loss: str
    next_attempt_at: int | None
    told_at: int | None
    channel: str | None
    acknowledged_at: int | None
    attempts: int
    failure: str | None
    claimed_by: str | None
    claimed_until: int | None

    def as_at(self, now: int) -> StoredAlert:
        """The alert without a delivery or an answer at a time still to come."""
        ahead = max(self.told_at or 0, self.acknowledged_at or 0) > now + SLACK
        return replace(self, next_attempt_at=self.due_at, **_UNSENT) if ahead else self


class Alerts:
    """The alerts of one ledger."""

    def __init__(self, connections: Connections) -> None:
        self._connections = connections

    def offer(self, planned: Iterable[PlannedAlert], now: int) -> None:
        """
        Take over the alerts of the newest plan.

        One that moved is sent at its new time, again if it was sent before that; one that is no longer planned is withdrawn, and kept for the record
        if it was sent by `now`.
        """
        offered = {one.id: one for one in planned}
        with self._connections.writing() as connection:
            here = {one.id: one for one in _all(connection)}
            for key in here.keys() - offered.keys():
                _withdraw(connection, here[key], now)
            for key, one in offered.items():
                _move(connection, here[key], one) if key in here else _new(connection, one)

    def all(self) -> tuple[StoredAlert, ...]:
        """Every alert, in order of due time and id."""
        with self._connections.reading() as connection:
            return _all(connection)

    def next_due(self, now: int, reach: int = REACH) -> int | None:
        """When the next attempt is due; None where nothing is left to send. `reach` is how far ahead one may be set [s]."""
        with self._connections.reading() as connection:
            return connection.execute(select(func.min(_attempt(now, reach)))).scalar_one_or_none()

    def claim(self, owner: str, now: int, until: int, limit: int = 100, reach: int = REACH) -> tuple[StoredAlert, ...]:
        """What is due and nobody else has claimed, earliest first; `owner` holds the claim until `until`, beyond which no other counts."""
        free = or_(alerts.c.claimed_until.is_(None), alerts.c.claimed_until <= now, alerts.c.claimed_until > until)
        with self._connections.writing() as connection:
            attempt = _attempt(now, reach)
            ids = list(connection.execute(select(alerts.c.id).where(and_(attempt <= now, free)).order_by(attempt, alerts.c.id).limit(limit)).scalars())
            if not ids:
                return ()
            connection.execute(update(alerts).where(alerts.c.id.in_(ids)).values(claimed_by=owner, claimed_until=until))
            connection.execute(update(alerts).where(and_(alerts.c.id.in_(ids), _ahead(now))).values(next_attempt_at=now, **_UNSENT))
            return tuple(one for one in _all(connection, alerts.c.id.in_(ids)))

    def take_back(self, now: int) -> bool:
        """
        Have sent again, at its time, what was delivered or answered at a time still to come but near; whether there was any.

        Not counted as long as that lies ahead, it would count once everybody had slept past it. What lies further ahead is left: by a clock that is
        years behind, as one without a battery, all that was ever delivered does.
        """
        near = or_(*(column.between(now + SLACK + 1, now + REACH) for column in (alerts.c.told_at, alerts.c.acknowledged_at)))
        again = {"next_attempt_at": case((alerts.c.due_at > now, alerts.c.due_at), else_=now), **_UNSENT}
        with self._connections.writing() as connection:
            return connection.execute(update(alerts).where(near).values(**again)).rowcount > 0

    def delivered(self, repeats: Mapping[str, int | None], owner: str, at: int, channel: str) -> frozenset[str]:
        """Record the delivery of one message, by the ids of its alerts, and when to repeat each, if ever; returns those whose claim had gone to others."""
        return self._close(repeats, owner, told_at=at, channel=channel, failure=None)

    def failed(self, retries: Mapping[str, int], owner: str, why: str) -> frozenset[str]:
        """Record that one message failed, why, and when to try each of its alerts again; returns those whose claim had gone to others."""
        return self._close(retries, owner, failure=why)

    def acknowledge(self, key: str, at: int) -> None:
        """Somebody has seen it: it is not sent again."""
        with self._connections.writing() as connection:
            acknowledge(connection, [key], at)

    def lease(self, name: str, owner: str, now: int, until: int) -> str:
        """Who holds the lease `name` ("watch"): `owner`, where it was free, run out, already theirs or beyond `until`; else whoever has it."""
        with self._connections.writing() as connection:
            held = connection.execute(select(leases).where(leases.c.name == name)).one_or_none()
            if held is not None and held.owner != owner and now < held.until <= until:
                return str(held.owner)
            connection.execute(delete(leases).where(leases.c.name == name))
            connection.execute(insert(leases).values(name=name, owner=owner, until=until))
            return owner

    def release(self, name: str, owner: str) -> None:
        """Give a lease back before it runs out."""
        with self._connections.writing() as connection:
            connection.execute(delete(leases).where(and_(leases.c.name == name, leases.c.owner == owner)))

    def _close(self, next_attempts: Mapping[str, int | None] | Mapping[str, int], owner: str, **changed: Any) -> frozenset[str]:
        """All of them or none: what went out in one message is never half written down."""
        values = {"attempts": alerts.c.attempts + 1, "claimed_by": None, "claimed_until": None, **changed}
        gone = set()
        with self._connections.writing() as connection:
            for key, at in next_attempts.items():
                mine = and_(alerts.c.id == key, alerts.c.claimed_by == owner)
                if not connection.execute(update(alerts).where(mine).values(**values, next_attempt_at=at)).rowcount:
                    gone.add(key)
        return frozenset(gone)


def acknowledge(connection: Connection, keys: Iterable[str], at: int) -> None:
    """Somebody has seen these: they are not sent again."""
    connection.execute(update(alerts).where(alerts.c.id.in_(list(keys))).values(acknowledged_at=at, next_attempt_at=None))


def put_off(connection: Connection, keys: Iterable[str], until: int) -> None:
    """Send these (again) at `until`."""
    connection.execute(update(alerts).where(alerts.c.id.in_(list(keys))).values(next_attempt_at=until, failure=None))


def _ahead(now: int) -> ColumnElement[bool]:
    """Whether an alert was delivered or answered at a time still to come."""
    return or_(alerts.c.told_at > now + SLACK, alerts.c.acknowledged_at > now + SLACK)


def _attempt(now: int, reach: int) -> ColumnElement[int | None]:
    """When an alert is sent next: as it was set, or as it was due where what was set does not count."""
    refused = and_(alerts.c.failure.is_not(None), alerts.c.failure != HELD)
    far = and_(alerts.c.next_attempt_at > alerts.c.due_at, alerts.c.next_attempt_at > now + case((refused, RETRY), else_=reach))
    return case((or_(_ahead(now), far), alerts.c.due_at), else_=alerts.c.next_attempt_at)


def _all(connection: Connection, *which: ColumnElement[bool]) -> tuple[StoredAlert, ...]:
    rows = connection.execute(select(alerts).where(*which).order_by(alerts.c.due_at, alerts.c.id))
    return tuple(StoredAlert(**row) for row in rows.mappings())


def _new(connection: Connection, one: PlannedAlert) -> None:
    connection.execute(insert(alerts).values(id=one.id, task=one.task, due_at=one.due_at, say=one.say, loss=one.loss, next_attempt_at=one.due_at, attempts=0))


def _move(connection: Connection, before: StoredAlert, one: PlannedAlert) -> None:
    if (before.task, before.due_at, before.say, before.loss) == (one.task, one.due_at, one.say, one.loss):
        return
    changed: dict[str, Any] = {"task": one.task, "due_at": one.due_at, "say": one.say, "loss": one.loss}
    moved = one.due_at != before.due_at
    if moved and (before.told_at is None or before.told_at < one.due_at):
        changed |= {"next_attempt_at": one.due_at, **_UNSENT}
    connection.execute(update(alerts).where(alerts.c.id == one.id).values(**changed))


def _withdraw(connection: Connection, one: StoredAlert, now: int) -> None:
    if one.told_at is None or one.told_at > now:
        connection.execute(delete(alerts).where(alerts.c.id == one.id))
    elif one.next_attempt_at is not None:
        connection.execute(update(alerts).where(alerts.c.id == one.id).values(next_attempt_at=None))
