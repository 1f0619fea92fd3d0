"""What the forms of the page record: each once, however often it is sent; what is in doubt is asked first, and what cannot be writes nothing."""

from __future__ import annotations

import re
import threading
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import date, datetime
from hashlib import sha256
from typing import Any, NamedTuple

from scheduler.application import tell_tasks
from scheduler.application.as_planned import as_planned, at_hand_done, day_of
from scheduler.application.before_pull import template_like
from scheduler.application.days_asked import harvest_named
from scheduler.application.harvest_form import kinds_of, lots_typed, next_name
from scheduler.application.hive_facts import Medicine, died, foulbrood, hives_at, larvae, noticed_at, queen_above, questions, release, treatment
from scheduler.application.ledger_view import LedgerView, view_at
from scheduler.application.lookup import moment_of, refuse_future, titles_of
from scheduler.application.moved_pulls import move
from scheduler.application.page_contents import Pages
from scheduler.application.paired_phones import LASTS
from scheduler.application.refusals import AGENDA, AtField, Remedied
from scheduler.application.tell import LOT_READINGS, asked, log, mark_seen, reading, undone
from scheduler.application.templates import harvest_like, harvest_text
from scheduler.diagnostics import Fault, Refused, instead
from scheduler.facts.fact import HarvestLogged, HarvestPulled, Recorded, TaskFact
from scheduler.local_time import in_years, spoken
from scheduler.outputs.wording.sentence import title_of
from scheduler.quantities import instant, say

BEGINS, ENDS, SUSPECTED, NOT_CONFIRMED = "treatment begins", "treatment ends", "foulbrood suspected", "foulbrood not confirmed"
DEAD, QUEEN = "colony died", "queen or brood in a super"
AT_HIVES = (BEGINS, ENDS, SUSPECTED, NOT_CONFIRMED, DEAD, QUEEN)  # what is recorded of a hive
Form = Mapping[str, str]
Told = tuple[list[tell_tasks.Confirmation], list[Fault]]  # what is to be written down, and of what nothing is
LONGEST = 64  # signs of a form's key
_RECEIPT = re.compile("[0-9a-f]{32}")
REMEMBERED = 200  # forms of which it is known what they wrote; assumed


class Taken(NamedTuple):
    """What became of a form: it is recorded under a receipt for its key; or it is in doubt, about a moment, and nothing is."""

    receipt: str
    doubt: str = ""
    at: str = ""


class NotTicked(NamedTuple):
    """Lines of the checklists of what a form recorded that were not ticked, by id and title, and the hour that was typed for it."""

    at: str
    lines: tuple[tuple[str, str], ...]


class Teller(NamedTuple):
    """Who sends a form: whose phone it is, and in which units they are answered; "" for the keeper, and for the units of the yard."""

    person: str = ""
    units: str = ""


class Forms:
    """Records forms, one at a time: what they say is of the plan that is shown. Raises `Fault` or `Refused`, and writes nothing then."""

    def __init__(self, pages: Pages) -> None:
        self._pages, self._ledger, self._now = pages, pages.ledger, pages.now
        self._lock = threading.Lock()
        self._written: dict[str, tuple[str, ...]] = {}
        self._left: dict[str, NotTicked] = {}
        self._one_by_one: dict[str, tuple[tuple[str, str], ...]] = {}

    def said(self, receipt: str) -> str | None:
        """What was said when the form of this receipt was recorded; None where it was not."""
        return self._ledger.phones.said(receipt) if _RECEIPT.fullmatch(receipt) else None  # whatever else is asked for stands in no log of the store

    def written(self, receipt: str) -> str:
        """The facts that the form of this receipt wrote, for the form that takes them back; nothing where that is long ago, or before this start."""
        return ",".join(self._written.get(receipt, ()))

    def not_ticked(self, receipt: str) -> NotTicked | None:
        """What the form of this receipt left on checklists, for one that records it too; None where that is nothing, long ago, or before this start."""
        return self._left.get(receipt)

    def one_by_one(self, receipt: str) -> tuple[tuple[str, str], ...]:
        """What the form of this receipt did not record though it was planned, by id and title; nothing where that is long ago, or before this start."""
        return self._one_by_one.get(receipt, ())

    def undo(self, form: Form, teller: Teller) -> Taken:
        """What was told is taken back; a harvest only once the keeper is sure."""

        def told(view: LedgerView, now: int) -> Told:
            return undone(view, _listed(form.get("facts", "")[:2_000]), titles_of(view.plan), sure=form.get("sure") == "1"), []

        return self._recorded(form, teller, told)

    def done(self, form: Form, teller: Teller) -> Taken:
        """Work that was done, or of which a hold was begun: all of it, in part, or at some hives; with the lines of its checklist that were ticked."""

        def told(view: LedgerView, now: int) -> Told:
            moment = moment_of(form.get("at", "").strip() or None, now - _ago(form), view.zone)
            part, worked = tell_tasks.part_of(form.get("amount", "").strip() or None)
            whole, again, sure = (form.get(name) == "1" for name in ("whole", "again", "sure"))
            by = teller.person if teller.person in view.yard.people else None
            if hives := _listed(form.get("hives", "")):
                return tell_tasks.done_of_hives(view, _task_of(form), hives, moment, by), []
            if not tasks:
                raise Fault("nothing was ticked", "a tick beside what was done")
            said = tell_tasks.done(view, tasks, moment, whole=whole, again=again, amount=part, worked=worked, by=by, sure=sure)
            left.update((line.id, title_of(line)) for line in tell_tasks.lines_left(view, [str(getattr(one.fact, "task", "")) for one in said[0]]))
            return said

        tasks = [one for one in (_task_of(form), *_listed(form.get("also", "")[:2_000])) if one]
        left = dict[str, str]()
        taken = self._recorded(form, teller, told, tasks)
        if left and not taken.doubt:
            self._left[taken.receipt] = NotTicked(form.get("at", "").strip(), tuple(left.items()))
            _forget(self._left)
        return taken

    def later(self, form: Form, teller: Teller) -> Taken:
        """Work that is put off."""

        def told(view: LedgerView, now: int) -> Told:
            return tell_tasks.put_off(view, [_task_of(form)], moment_of(_needed(form, "until", "tomorrow 18:00"), now - _ago(form), view.zone, ahead=True))

        return self._recorded(form, teller, told, [_task_of(form)])

    def drop(self, form: Form, teller: Teller) -> Taken:
        """Work that will not be done, for a reason."""

        def told(view: LedgerView, now: int) -> Told:
            return tell_tasks.skip(view, [_task_of(form)], _needed(form, "because", "no wax this year"), now)

        return self._recorded(form, teller, told, [_task_of(form)])

    def seen(self, form: Form, teller: Teller) -> Taken:
        """A mark of the season that was seen on a day."""

        def told(view: LedgerView, now: int) -> Told:
            return [mark_seen(view, form.get("mark", "")[:80], _day_of(form), now, form.get("apiary", "")[:80] or None)], []

        return self._recorded(form, teller, told)

    def pulled(self, form: Form, teller: Teller) -> Taken:
        """That the supers of a planned harvest are off."""

        def told(view: LedgerView, now: int) -> Told:
            name, at = form.get("harvest", "")[:80], moment_of(form.get("at", "").strip() or None, now - _ago(form), view.zone)
            refuse_future(at, now, view.zone)
            if name not in view.ahead:
                raise Remedied(f'no harvest "{name}" is planned and not off yet', "afterpull agenda", look=AGENDA)
            fact = HarvestPulled(occurred_at=at, harvest=name)
            words = [view.words(say("supers off", harvest=name, at=instant(at))), *questions(view.supposing(fact), [name])]
            return [tell_tasks.Confirmation("\n".join(words), fact)], []

        return self._recorded(form, teller, told)

    def moved(self, form: Form, teller: Teller) -> Taken:
        """That a harvest is planned for another moment. What is wrong with that is wrong with its one field."""

        def told(view: LedgerView, now: int) -> Told:
            name = form.get("harvest", "")[:80]
            with _of("pulled"):
                return [move(view, name, moment_of(_needed(form, "pulled", "sat 10:00"), now, view.zone, ahead=True), now)], []

        return self._recorded(form, teller, told)

    def reading(self, form: Form, teller: Teller) -> Taken:
        """What was read of a lot: its moisture, or the temperature in its middle."""

        def told(view: LedgerView, now: int) -> Told:
            at = moment_of(form.get("at", "").strip() or None, now - _ago(form), view.zone)
            refuse_future(at, now, view.zone)
            if (what := form.get("what", "")[:40]) not in LOT_READINGS:
                raise Fault(f'"{what}" is not read of a lot', instead(what, LOT_READINGS))
            return [reading(view, f"{what} {_needed(form, 'value', '17.8 %')[:40]}", form.get("lot", "")[:80], at)], []

        return self._recorded(form, teller, told)

    def hive(self, form: Form, teller: Teller) -> Taken:
        """What was seen or done at a hive on a day."""

        def told(view: LedgerView, now: int) -> Told:
            what, of, on = form.get("what", "")[:40], _needed(form, "hive", "the name of a hive")[:80], _day_of(form)
            if what not in AT_HIVES:
                raise Fault(f'"{what}" is not recorded of a hive', instead(what, AT_HIVES))
            if what == DEAD:
                words, facts = died(view, of, form.get("cause", "")[:40] or None, on, now)
                return [tell_tasks.Confirmation(words, facts[0]), *(tell_tasks.Confirmation("", one) for one in facts[1:])], []
            if what == QUEEN:
                return [tell_tasks.Confirmation(*queen_above(view, of, on, now))], []
            if what in (SUSPECTED, NOT_CONFIRMED):
                return [tell_tasks.Confirmation(*foulbrood(view, "no" if what == NOT_CONFIRMED else "", of, on, now))], []
            begins, at = what == BEGINS, noticed_at(on, now, view)
            medicine = Medicine(*((form.get(name, "").strip()[:80] or None) if begins else None for name in Medicine._fields))
            hives = hives_at(view, of) if of in view.yard.apiaries else [of]
            return [tell_tasks.Confirmation(*treatment(view, begins, one, medicine, at)) for one in hives], []

        return self._recorded(form, teller, told)

    def larvae(self, form: Form, teller: Teller) -> Taken:
        """A live larva that was seen in comb of a lot, or none any more."""

        def told(view: LedgerView, now: int) -> Told:
            seen = form.get("seen", "")
            if seen not in ("yes", "no"):
                raise Fault(f'"{seen[:20]}" does not say whether a larva was seen', "yes or no")
            return [tell_tasks.Confirmation(*larvae(view, seen, form.get("lot", "")[:80], _day_of(form), now))], []

        return self._recorded(form, teller, told)

    def as_planned(self, form: Form, teller: Teller) -> Taken:
        """That all went as planned up to the end of a day, or all of some steps at hand: asked first, with the list of what that records."""

        def told(view: LedgerView, now: int) -> Told:
            if ids := _listed(form.get("also", "")[:2_000]):
                found = at_hand_done(view, ids, now)
            else:
                found = as_planned(view, day_of(_needed(form, "until", "2026-08-15")[:40], view))
            titles = {task.id: title_of(task) for task in view.plan.tasks}
            singly = "".join(f"\n- {titles.get(name, name)}" for name in found.singly)
            left = f"Record these one by one, for they protect food or give a reading:{singly}" if singly else ""
            one_by_one.extend((name, titles.get(name, name)) for name in found.singly)
            if not found.confirmations:
                raise Remedied("nothing else was planned up to then of which nothing is recorded", "another day", page=left, look=AGENDA)
            if form.get("sure") != "1":
                listed = "".join(f"\n- {one.words.replace(f' [{one.fact.task}]', '')}" for one in found.confirmations if isinstance(one.fact, TaskFact))
                count = len(found.confirmations)
                raise tell_tasks.Doubt(f"This records {count} steps, each at the time for which it was planned:{listed}\n{left}".strip(), "--yes")
            more = f"{len(found.singly)} more are to be recorded one by one, for they protect food or give a reading" if found.singly else ""
            said = f"{len(found.confirmations)} steps recorded, each at the time for which it was planned.\n{more}".strip()
            return [one._replace(words=said if number == 0 else "") for number, one in enumerate(found.confirmations)], []

        one_by_one = list[tuple[str, str]]()
        taken = self._recorded(form, teller, told, _listed(form.get("also", "")[:2_000]))
        if one_by_one and not taken.doubt:
            self._one_by_one[taken.receipt] = tuple(one_by_one)
            _forget(self._one_by_one)
        return taken

    def release(self, form: Form, teller: Teller) -> Taken:
        """A lot goes on that a stop holds back, for a reason."""

        def told(view: LedgerView, now: int) -> Told:
            because = _needed(form, "because", "the label allows supers, and so does local law")
            return [tell_tasks.Confirmation(*release(view, form.get("lot", "")[:80], because, now))], []

        return self._recorded(form, teller, told)

    def harvest(self, form: Form) -> Taken:
        """A harvest as it was typed."""
        with self._lock:
            receipt, now = _receipt_of(form), self._now()
            if self._ledger.phones.said(receipt) is not None:
                return Taken(receipt)
            view, name = view_at(self._ledger, now), form.get("name", "").strip()
            if any(one.harvest == name for one in view.harvests):
                raise AtField(f'a harvest "{name}" is logged already', "another name", "name")
            with _of("pulled"):
                pulled = moment_of(form.get("pulled", "").strip() or None, now, view.zone, ahead=True)
            lots = lots_typed(form, kinds_of(view))
            with _of("lots"):
                apiary = form.get("apiary", "")[:80] or None
                words = [one.words for one in lots]
                text = harvest_text(name, pulled, view.zone, _listed(form.get("hives", "")), words, apiary, view.rules.products.known)
            with _of("", ["name", "pulled", "hives", *(["apiary"] if apiary else []), "", *(one.field for one in lots)]):
                self._log(receipt, name, text, now, f"Logged {name}.")
        return Taken(receipt)

    def planned_like(self, form: Form, _teller: Teller) -> Taken:
        """A pull to come that is like a harvest, as it was worked out for a day."""
        with self._lock:
            receipt, now = _receipt_of(form), self._now()
            if self._ledger.phones.said(receipt) is not None:
                return Taken(receipt)
            view = view_at(self._ledger, now)
            like = harvest_named(view, form.get("like", "")[:80])
            at = moment_of(_needed(form, "pulled", "sat 10:00"), now, view.zone, ahead=True)
            if at <= now:
                raise Fault(f"{spoken(at, view.zone)} is over", "a day to come")
            template, name = template_like(like, _listed(form.get("frames", "")[:2_000])), next_name(view)
            lots = {lot: count for lot, count in template.fixed.items() if count}
            text = harvest_like(like, name, at, view.zone, lots, us=view.yard.units == "us")
            self._log(receipt, name, text, now, f"{name} is planned for {spoken(at, view.zone)}: {sum(lots.values())} frames, like {like.harvest}.")
        return Taken(receipt)

    def _log(self, receipt: str, name: str, text: str, now: int, words: str) -> None:
        """Log a harvest file of one harvest. Raises `Fault` or `Refused`."""
        names = log(self._ledger, [(text.encode(), f"{name}.yaml")], now)
        self._ledger.append_once(receipt, (), now, "\n".join([words, *asked(self._ledger, names, now, page="")]))
        logged = view_at(self._ledger, now, search=False).recorded
        self._keep(receipt, [one for one in logged if isinstance(one.fact, HarvestLogged) and one.fact.harvest == name][-1:])

    def _recorded(self, form: Form, teller: Teller, told: Callable[[LedgerView, int], Told], tasks: Collection[str] = ()) -> Taken:
        """Record what is told, of these `tasks`: answered by the plan that is there, while the next one is made."""
        with self._lock:
            receipt, now = _receipt_of(form), self._now()
            if self._ledger.phones.said(receipt) is not None:
                return Taken(receipt)
            view = self._pages.shown(teller.units, tasks) or view_at(self._ledger, now, search=False, page=teller.units)
            try:
                said, refused = told(view, now)
                if refused:
                    raise next((fault for fault in refused if isinstance(fault, tell_tasks.Doubt)), refused[0])
            except tell_tasks.Doubt as doubt:
                at = form.get("at", "").strip() or (f"{datetime.fromtimestamp(now - _ago(form), view.zone):%Y-%m-%d %H:%M}" if _ago(form) else "")
                return Taken(receipt, doubt.message, at)
            self._keep(receipt, self._ledger.append_once(receipt, [one.fact for one in said], now, "\n".join(one.words for one in said if one.words)))
        return Taken(receipt)

    def _keep(self, receipt: str, facts: Sequence[Recorded]) -> None:
        self._written[receipt] = tuple(one.id for one in facts)
        _forget(self._written)


def _forget(kept: dict[str, Any]) -> None:
    """Forget the oldest, beyond those that are remembered."""
    while len(kept) > REMEMBERED:
        del kept[next(iter(kept))]


@contextmanager
def _of(field: str, lines: Sequence[str] = ()) -> Iterator[None]:
    """What is wrong is told of a field; of the file that is made of a form, of the field that each of its `lines` comes from."""
    try:
        yield
    except Refused as refused:
        first = refused.diagnostics[0]
        others = "".join(f"; {one.message}" for one in refused.diagnostics[1:])
        field = lines[min(first.line, len(lines)) - 1] if first.line and lines else field
        raise AtField(first.message + others, first.write, field) from None
    except Fault as fault:
        raise AtField(fault.message, fault.write, field) from None


def receipt(key: str) -> str:
    """Under what a form is recorded, and what an address may say of it: nobody can send the form by it."""
    return sha256(f"receipt of {key[:LONGEST]}".encode("utf-8", "surrogatepass")).hexdigest()[:32]


def _receipt_of(form: Form) -> str:
    return receipt(_needed(form, "key", "the form as the page gave it"))


def _task_of(form: Form) -> str:
    return form.get("task", "")[:200]


def _day_of(form: Form) -> date:
    on = _needed(form, "on", "2026-10-09")
    try:
        day = date.fromisoformat(on)
    except ValueError:
        raise Fault(f'"{on[:40]}" is not a date', "2026-10-09") from None
    return in_years(day, day)


def _listed(text: str) -> list[str]:
    """What was typed with commas between."""
    return [one.strip() for one in text.split(",") if one.strip()]


def _ago(form: Form) -> int:
    """How long a phone without a connection kept a press before it could send it [s]; as long as it can be paired at most."""
    typed = form.get("ago", "")
    return min(int(typed), LASTS) if typed.isascii() and typed.isdigit() and len(typed) < 12 else 0


def _needed(form: Form, name: str, sample: str) -> str:
    """What was typed in a field that may not be empty. Raises `Fault` with a sample where it is."""
    if not (typed := form.get(name, "").strip()[:500]):
        raise Fault(f'"{name}" is empty', sample)
    return typed
