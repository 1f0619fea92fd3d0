"""One look at the ledger: follow its facts, tell what is due, write down what became of it; and what a press of a button means."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from zoneinfo import ZoneInfo

from scheduler.application.alert_ids import SummaryKey, read_alert_key, read_summary_key
from scheduler.application.alert_offers import OfferedAlerts, offers, slept_through, starts, summaries, tasks_reported
from scheduler.application.ledger_view import LedgerView, keep_in_force, whole_view
from scheduler.application.selection import PlanFilter
from scheduler.diagnostics import Fault, Refused
from scheduler.facts.fact import AlertAcknowledged, Fact, TaskBegun, TaskDone, TaskPutOff
from scheduler.ledger.alerts import HELD, REACH, StoredAlert
from scheduler.ledger.store import Ledger
from scheduler.local_time import HOUR, ceil_to_minute, midnight
from scheduler.outputs.notify.config import NotificationConfig, config_for_yard
from scheduler.outputs.notify.message import Channel, Delivery, Message, deliver
from scheduler.outputs.notify.timing import DIGEST_FROM, LONG_OVERDUE, day_of, deferred_until, evening_or_morning, repeat_at, retry_at
from scheduler.outputs.notify.words import DueAlert, alert_message, digest_message, is_begin_alert, open_task, summary_message
from scheduler.outputs.wording.sentence import METRIC, in_words
from scheduler.planning.draft import Happened
from scheduler.planning.plan import Plan, PlannedTask
from scheduler.quantities import elapsed, say

LEASE = 90  # s for which one watch may tell without renewing its right to (DESIGN)
CLAIM = 180  # s after which what a dead watch had claimed is told by another (DESIGN)
BATCH = 50  # alerts claimed at a time
MOST = 500  # alerts told in one look, so that the right to tell is renewed in time
WATCH = "watch"


@dataclass(frozen=True, slots=True)
class LookResult:
    """What one look came to: who else is telling, if anybody; how many were sent, held and failed; what could not be planned."""

    other: str | None = None
    sent: int = 0
    held: int = 0
    failed: int = 0
    trouble: str = ""


class AlertSender:
    """Tells the alerts of one ledger, through `channels` by name, as `owner`. Moments are arguments; `say` gets what is worth a line in the log."""

    def __init__(
        self, ledger: Ledger, config: NotificationConfig, channels: Mapping[str, Channel], owner: str, say: Callable[[str], None] = lambda _: None
    ) -> None:
        self.ledger, self.config, self.channels, self.owner, self.say = ledger, config, channels, owner, say
        self.plan: Plan | None = None
        self._view: LedgerView | None = None  # that of the plan; None where nothing could be planned
        self._begun: Mapping[str, int] = {}
        self._offered = OfferedAlerts()
        self._planned: tuple[int, int, int] | None = None  # position in the ledger, from when and until when it holds
        self._noted_at: int | None = None
        self._leased: tuple[int, int] | None = None
        self._trouble = ""

    def look(self, now: int) -> LookResult:
        """Tell what is due, if nobody else does. Raises `Refused` where the ledger cannot be used."""
        other = self._right_to_tell(now)
        if other is not None:
            self._planned = self._noted_at = None  # whoever takes over begins from what the other left
            return LookResult(other)
        to_note = self._noted_at is None or not 0 <= now - self._noted_at < 60
        if to_note and self.ledger.alerts.take_back(now):
            self._planned = None  # what of it was done meanwhile is not told
        self._follow(now)
        counted = self._tell(now)
        if to_note or any(counted):
            self._note(now)
        return LookResult(None, *counted, self._trouble)

    def stop(self) -> None:
        """Let another watch take over at once."""
        if self._leased is not None:
            self.ledger.alerts.release(WATCH, self.owner)
            self._leased = None

    def press(self, key: str, button: str, at: int, now: int) -> None:
        """
        A button was pressed at a moment up to now: the answer becomes a fact, and with it, in one transaction, the alert waits or is heard.

        Raises `Refused` where that cannot be written now; nothing is then. The same press again, of a watch that was killed before it could forget
        it, changes nothing.
        """
        task, number, _ = read_alert_key(key)
        rows = [row for row in self.ledger.alerts.all() if row.task == task]
        same = [row.id for row in rows if read_alert_key(row.id)[:2] == (task, number)]
        view = whole_view(self.ledger, now)
        found = open_task(self.plan or view.plan, task)
        if not same and found is None:
            self.say(in_words(say("answer to nothing known", key=key), METRIC))  # of another watch on the same desktop
            return
        if any(one.fact.occurred_at == at and getattr(one.fact, "alert", getattr(one.fact, "task", "")) in (key, task) for one in view.recorded):
            return
        facts = self._answer(key, button, at, found, view.happened)
        if button in ("hour", "evening"):
            self.ledger.answer(facts, now, later=same, until=self._later(button, at))
        else:
            self.ledger.answer(facts, now, heard=[row.id for row in rows if row.id in same or row.due_at <= at])

    def _answer(self, key: str, button: str, at: int, found: PlannedTask | None, happened: Happened) -> list[Fact]:
        """What an answer says; where the same was recorded meanwhile, or more, that the alert was heard."""
        task, number, person = read_alert_key(key)
        by = person if len(self.config.people) > 1 else None
        begins = button == "begun" or (button == "done" and found is not None and is_begin_alert(found, number))
        over = task in happened.done or task in happened.skipped
        if begins and not over and task not in happened.begun:
            return [TaskBegun(occurred_at=at, task=task, by=by)]
        if button == "done" and not begins and not over:
            return [TaskDone(occurred_at=at, task=task, started_at=happened.begun.get(task), by=by)]
        at_start = found is not None and number < len(found.alerts) and found.alerts[number].at <= found.start
        if button in ("hour", "evening") and at_start and task not in happened.begun:
            return [TaskPutOff(occurred_at=at, task=task, until=self._later(button, at), by=by)]
        return [AlertAcknowledged(occurred_at=at, alert=key, by=by)]

    def _later(self, button: str, at: int) -> int:
        return ceil_to_minute(at) + HOUR if button == "hour" else evening_or_morning(at, self.config.evening, self._zone())[0]

    def _zone(self) -> ZoneInfo:
        return ZoneInfo(self.plan.timezone if self.plan else "UTC")

    def _right_to_tell(self, now: int) -> str | None:
        if self._leased is not None and self._leased[0] <= now < self._leased[0] + LEASE // 3:
            return None
        holder = self.ledger.alerts.lease(WATCH, self.owner, now, now + LEASE)
        self._leased = (now, now + LEASE) if holder == self.owner else None
        return None if holder == self.owner else holder

    def _follow(self, now: int) -> None:
        position = self.ledger.position()
        if self._planned is not None and self._planned[0] == position and self._planned[1] <= now < self._planned[2]:
            return
        if self._planned is None and (seen := self.ledger.outgoing.last_seen(WATCH)) is not None:
            self._offered = OfferedAlerts.from_json(seen[1])
        try:
            view = whole_view(self.ledger, now)
            self.plan, self._begun, self._view, until = view.plan, view.happened.begun, view, view.as_of.until
        except Exception as error:  # whatever it is, a fault of ours too: what was offered before stays and is told
            self._trouble = str(error) if isinstance(error, Refused | Fault) else in_words(say("no plan", fault=f"{type(error).__name__}: {error}"), METRIC)
            self._planned, self._view = (position, now, self._tomorrow(now)), None
            return
        config, self._trouble = config_for_yard(self.config, view.yard.people)
        reported, rows = tasks_reported(view.recorded, self._offered.position), [one.as_at(now) for one in self.ledger.alerts.all()]
        due = offers(view.plan, config, rows, self._offered, reported, view.happened.put_off, now) + summaries(self.config, rows, now, self._zone())
        happened = view.happened
        self.ledger.alerts.offer([*slept_through(view.plan, rows, happened.done.keys() | happened.skipped.keys(), now), *due], now)
        keep_in_force(self.ledger, view)
        self._offered = OfferedAlerts(position, starts(view.plan, self._offered, reported, now))
        self._planned = position, now, min(until, self._tomorrow(now))
        self._note(now)

    def _tomorrow(self, now: int) -> int:
        """When the day at the yard ends, and the summaries of another are to be offered."""
        return midnight(day_of(now, self._zone()) + timedelta(days=1), self._zone())

    def _note(self, now: int) -> None:
        self.ledger.outgoing.see(WATCH, now, self._offered.to_json())
        self._noted_at = now

    def _tell(self, now: int) -> tuple[int, int, int]:
        counted = {"sent": 0, "held": 0, "failed": 0}
        while sum(counted.values()) < MOST:
            claimed = self._claimed(now)
            for rows in self._together(claimed, now):
                for how in self._tell_at_once(rows, now) if len(rows) > 1 else [self._tell_one(rows[0], now)]:
                    counted[how] += 1
                if self._leased is None:  # this process stood still, and another took over what it had claimed
                    break
            if not claimed or self._leased is None:
                break
        return counted["sent"], counted["held"], counted["failed"]

    def _claimed(self, now: int) -> list[StoredAlert]:
        """What is due, a batch of it; all batches whose every alert is so late that one message will do for them."""
        found: list[StoredAlert] = []
        reach = max(REACH, round(self.config.repeat.longest_gap()))
        next_due = self.ledger.alerts.next_due(now, reach)
        while next_due is not None and next_due <= now and len(found) < MOST:
            batch = self.ledger.alerts.claim(self.owner, now, now + CLAIM, BATCH, reach)
            found += batch
            if len(batch) < BATCH or not all(self._long_due(row, now) for row in batch):
                break
        return found

    def _long_due(self, row: StoredAlert, now: int) -> bool:
        return now - row.due_at > LONG_OVERDUE and read_summary_key(row.id) is None and self._deferred_until(row, now) is None

    def _together(self, claimed: Sequence[StoredAlert], now: int) -> list[list[StoredAlert]]:
        """What is told in one message: for each person what is long due, if that is several; else each alert by itself."""
        late: dict[str, list[StoredAlert]] = {}
        for row in claimed:
            if self._long_due(row, now):
                late.setdefault(read_alert_key(row.id).person, []).append(row)
        several = [rows for rows in late.values() if len(rows) >= DIGEST_FROM]
        told = {row.id for rows in several for row in rows}
        return [*several, *([row] for row in claimed if row.id not in told)]

    def _deferred_until(self, row: StoredAlert, now: int) -> int | None:
        person = self.config.people.get(read_alert_key(row.id).person)
        return deferred_until(row.loss, person.quiet_hours if person else None, now, self._zone())

    def _tell_at_once(self, rows: Sequence[StoredAlert], now: int) -> Iterator[str]:
        """One message for several alerts of a person; all are written down as told at once, and each is printed."""
        message = digest_message([self._due_alert(row) for row in rows], now, self.plan)
        first = next(row for row in rows if row.id == message.key)
        outcome = deliver(self._channels_for(first), message)
        how = self._written(rows, now, outcome)
        for row in rows:
            if outcome.channel is not None:
                self.say(in_words(say("told late", late=elapsed(now - row.due_at), alert=row.say), METRIC))
            yield how

    def _tell_one(self, row: StoredAlert, now: int) -> str:
        until = self._deferred_until(row, now)
        if until is not None:
            return self._closed([row], "held", self.ledger.alerts.failed({row.id: until}, self.owner, HELD))
        return self._written([row], now, deliver(self._channels_for(row), self._message(row, now)))

    def _channels_for(self, row: StoredAlert) -> list[Channel]:
        person = self.config.people.get(read_alert_key(row.id).person)
        names = person.tell.get(row.loss, ()) if person else ()  # type: ignore[call-overload]
        return [self.channels[name] for name in dict.fromkeys((*names, "terminal")) if name in self.channels]

    def _written(self, rows: Sequence[StoredAlert], now: int, outcome: Delivery) -> str:
        """Write down what became of the alerts of one message."""
        alerts = self.ledger.alerts
        if outcome.channel is None:
            retries = {row.id: retry_at(row.loss, row.attempts, now) for row in rows}
            return self._closed(rows, "failed", alerts.failed(retries, self.owner, outcome.reason))
        again = {row.id: repeat_at(row.loss, self.config.repeat, now, row.told_at, row.next_attempt_at) if row.task else None for row in rows}
        return self._closed(rows, "sent", alerts.delivered(again, self.owner, now, outcome.channel))

    def _closed(self, rows: Sequence[StoredAlert], how: str, gone: frozenset[str]) -> str:
        for row in rows:
            if row.id in gone:
                self._leased = None
                self.say(in_words(say("another watch took over", alert=row.say), METRIC))
        return how

    def _message(self, row: StoredAlert, now: int) -> Message:
        if summary := read_summary_key(row.id):
            return self._summary(row, summary, now)
        alert = self._due_alert(row)
        assumed = alert.assumed_start if alert.assumed_start is not None and alert.assumed_start <= now else None
        return alert_message(replace(alert, assumed_start=assumed), now, self.plan, self.config.evening)

    def _due_alert(self, row: StoredAlert) -> DueAlert:
        task, number, _ = read_alert_key(row.id)
        found, start = open_task(self.plan, task), self._offered.starts.get(task)
        after_start = found is not None and found.hold_done is not None and not is_begin_alert(found, number)
        return DueAlert(
            row.id, task, number, row.say, row.loss, row.due_at, row.told_at is not None, start if after_start and task not in self._begun else None
        )

    def _summary(self, row: StoredAlert, summary: SummaryKey, now: int) -> Message:
        kind, day, name = summary
        if self._view is None:
            return Message(row.id, "No summary: the plan cannot be made", self._trouble)
        people = self._view.yard.people
        person = config_for_yard(self.config, people)[0].people.get(name)
        plan = PlanFilter(name if person and person.hears == "own" else None, None, people).of(self._view.plan)
        of = day + timedelta(days=1 if kind == "evening" else 0)
        return summary_message(row.id, plan, of, "Today" if kind == "morning" else "Tomorrow", row.due_at, now)
