"""Before a pull: whether it is time, and on which day how many frames can be worked up without a limit missed, by planning each pull as if it had come."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date, datetime, timedelta
from functools import cache
from pathlib import Path
from typing import NamedTuple

from scheduler.application.files import read_bytes
from scheduler.application.ledger_view import LedgerView
from scheduler.application.templates import harvest_like
from scheduler.diagnostics import Fault, instead
from scheduler.facts.harvest import EVERY_HIVE, Harvest, pulled_at, read_harvest
from scheduler.outputs.text.pull_table import Day, time_text
from scheduler.planning.is_it_time import Asked, Sample, is_it_time
from scheduler.planning.plan import QUESTIONS, Plan, Warning
from scheduler.planning.planner import Planning, Unwanted, plan_with_odds
from scheduler.planning.problem import Problem
from scheduler.planning.task_ids import subject_of

NAME = "a-pull-to-come"  # of a harvest that is only asked about; no harvest of a keeper is called so
MOST = 3  # times the frames of the pull that it is like: beyond that nobody asks; assumed
MOST_A_HIVE = 80  # frames that come off a hive at once, eight boxes of ten; assumed
MOST_DAYS = 31
FUTURES, SAFE = 60, 0.9  # that are sampled for each number of frames, and the share of them in which each limit has to be kept


class Template(NamedTuple):
    """
    A harvest that the asked one is like, and the lots whose frames the keeper has fixed.

    One that `moves` is a planned harvest itself, on another day, and no second one like it. A search ends with `Unwanted` once it is not `wanted`.
    """

    harvest: Harvest
    fixed: Mapping[str, int]
    moves: bool = False
    wanted: Callable[[], bool] = lambda: True

    @property
    def name(self) -> str:
        """What the asked harvest is called."""
        return self.harvest.harvest if self.moves else NAME

    def of(self, frames: int, pulled: datetime) -> Harvest:
        """The same pull with so many frames in all, those not fixed in the shares of the template."""
        free = {lot.id: lot.frames for lot in self.harvest.lots if lot.id not in self.fixed}
        counts = {**self.fixed, **shared(frames - sum(self.fixed.values()), free)}
        lots = tuple(lot.model_copy(update={"frames": counts[lot.id], "boxes": None}) for lot in self.harvest.lots if counts[lot.id])
        return self.harvest.model_copy(update={"harvest": self.name, "pulled": pulled, "lots": lots})

    @property
    def frames(self) -> int:
        """Frames of the template, with those that are fixed."""
        return sum(self.fixed.get(lot.id, lot.frames) for lot in self.harvest.lots)

    @property
    def held(self) -> float:
        """The most frames that its hives could give."""
        return math.inf if EVERY_HIVE in self.harvest.hives else max(MOST_A_HIVE * len(self.harvest.hives), sum(lot.frames for lot in self.harvest.lots))


def template_of(view: LedgerView, like: str, frames: Sequence[str]) -> Template:
    """The harvest of the ledger, or of a file, that a pull is to be like. Raises `Fault` or `Refused`."""
    known = {one.harvest: one for one in view.harvests}
    if like not in known and Path(like).is_file():
        found = read_harvest(read_bytes(Path(like)), like, view.yard, products=view.rules.products.known)
    elif like in known:
        found = known[like]
    else:
        raise Fault(f'no harvest "{like}" is logged, and there is no such file', instead(like, known) if known else "the path of a harvest file")
    return template_like(found, frames)


def template_like(found: Harvest, frames: Sequence[str] = ()) -> Template:
    """The same of a harvest that is read, with the frames of some lots in words ("a=4"). Raises `Fault`."""
    fixed = {}
    for text in frames:
        lot, _, count = (part.strip() for part in text.partition("="))
        ids = [one.id for one in found.lots]
        if lot not in ids or not count.isdecimal():
            raise Fault(f'"{text}" is not a lot and its frames', " or ".join(f"{one}=4" for one in ids))
        fixed[lot] = int(count)
    if not any(fixed.get(lot.id, lot.frames) for lot in found.lots):
        raise Fault("no frame would be pulled", f"{found.lots[0].id}=4")
    template = Template(found, fixed)
    if sum(fixed.values()) > template.held:
        raise Fault(f"{sum(fixed.values())} frames are more than {len(found.hives)} {'hive holds' if len(found.hives) == 1 else 'hives hold'}", "fewer frames")
    return template


def days(view: LedgerView, template: Template, first: int, count: int, now: int, *, likely: bool = False) -> Iterator[Day]:
    """A row for each of `count` days from the one that `first` lies in; a day without a time begins its pull at the template's own or the first free hour.

    With `likely` each says too how many frames make it in nine of ten futures.
    """
    if not 1 <= count <= MOST_DAYS:
        raise Fault(f"{count} days cannot be asked about", f"--days 1 to {MOST_DAYS}")
    asked, moments = PullToCome(view, template), moments_of(view, template, first, count, now)
    if count == 1 and not moments:
        raise Fault("that day, or its hour, is past", "a day to come")
    for at, free in moments:
        found = asked.day(at, free=free)
        yield asked.likely(found) if likely else found


def moments_of(view: LedgerView, template: Template, first: int, count: int, now: int) -> list[tuple[int, bool]]:
    """When a pull would begin on each of `count` days that is still to come [s since 1970], and whether the keeper's hands are free then."""
    start = datetime.fromtimestamp(first, view.zone)
    said = [start if number == 0 and (start.hour or start.minute) else None for number in range(count)]
    found = (_moment(view, template, start.date() + timedelta(number), one) for number, one in enumerate(said))
    return [(at, free) for at, free in found if at > now]


def best_of(days: Sequence[Day]) -> list[Day]:
    """The days that take most frames, those that make it in nine of ten weeks where that was asked, the earlier of two first."""
    return sorted((day for day in days if day.frames), key=lambda day: (-(day.frames if day.safe is None else day.safe), day.pulled))


def planned(view: LedgerView, template: Template, days: Sequence[Day], name: str) -> tuple[str, int]:
    """The harvest file of the best of some days, under a name, and its moment. Raises `Fault` where none takes a frame."""
    good = best_of(days)
    lots = dict(good[0].safe_lots or good[0].lots) if good else {}
    if not lots:
        raise Fault("on none of these days is there time for it", "fewer frames with --frames, more days with --days")
    return harvest_like(template.harvest, name, good[0].pulled, view.zone, lots, us=view.yard.units == "us"), good[0].pulled


def shared(total: int, parts: Mapping[str, int]) -> dict[str, int]:
    """A total divided in the shares of `parts`, the largest remainders first."""
    whole = sum(parts.values())
    if not whole:
        return dict.fromkeys(parts, 0)
    exact = {name: total * part / whole for name, part in parts.items()}
    found = {name: int(value) for name, value in exact.items()}
    for name in sorted(parts, key=lambda name: (found[name] - exact[name], name))[: total - sum(found.values())]:
        found[name] += 1
    return found


def _moment(view: LedgerView, template: Template, day: date, said: datetime | None) -> tuple[int, bool]:
    """When a pull of a day is, and whether the keeper's hands are free then."""
    if said is not None:
        return int(said.timestamp()), _is_free(view, said)
    usual = datetime.combine(day, pulled_at(template.harvest, view.zone).time(), tzinfo=view.zone)
    spans = view.yard.hands.spans(day)
    if not spans or _is_free(view, usual):
        return int(usual.timestamp()), bool(spans)
    return int(datetime.combine(day, spans[0][0], tzinfo=view.zone).timestamp()), True


def _is_free(view: LedgerView, at: datetime) -> bool:
    return any(opens <= at.time() < closes or closes <= opens <= at.time() for opens, closes in view.yard.hands.spans(at.date()))


class PullToCome:
    """What a pull like a template comes to, on one day or another."""

    def __init__(self, view: LedgerView, template: Template) -> None:
        self._view, self._template = view, template
        self._others = tuple(one for one in view.problem.harvests if not template.moves or one.harvest != template.name)

    def day(self, at: int, *, free: bool) -> Day:
        """The most frames by halving, for more frames never make less late but by chance; the number found is planned, and so is the next."""
        template, before = self._template, self._missed_without(at)

        @cache
        def plan(frames: int) -> tuple[Plan, Warning | None]:
            found = self._planned(frames, at)
            return found, next((one for one in _limits(found) if (one.kind, one.task) not in before), None)

        least = sum(template.fixed.values())
        fixed = len(template.fixed) == len(template.harvest.lots)
        low, high = least, least if fixed else int(min(max(template.frames, 1) * MOST, template.held))
        if fixed or plan(high)[1] is None:
            low = high if plan(high)[1] is None else -1
        else:
            while high - low > 1:
                middle = (low + high) // 2
                low, high = (middle, high) if plan(middle)[1] is None else (low, middle)
        most = max(low, 0)
        shown = plan(most)[0] if most else None
        stopped, stops = plan(high)
        return Day(at, free, most, self._lots(most, at), low == high and not fixed, stops, stopped, self._first(shown), _treated(self._view, shown))

    def likely(self, day: Day) -> Day:
        """The same day with the most frames of which no limit is missed and each is kept in nine of ten futures, the same for all."""
        if not day.frames:
            return day
        before, others = self._missed_without(day.pulled), {harvest.harvest for harvest in self._others}

        def makes_it(frames: int) -> bool:
            plan, odds = plan_with_odds(self._problem(frames, day.pulled), FUTURES, cures=False, causes=False, seed=str(day.pulled))
            return _missed(plan) <= before and all(one.kept >= SAFE * one.of for one in odds if subject_of(one.task) not in others)

        least = sum(self._template.fixed.values())
        low, high = (day.frames, day.frames) if makes_it(day.frames) else (least, day.frames)
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (middle, high) if makes_it(middle) else (low, middle)
        safe = low if low > least or low == day.frames else 0
        return day._replace(safe=safe, safe_lots=self._lots(safe, day.pulled))

    def _lots(self, frames: int, at: int) -> tuple[tuple[str, int], ...]:
        return tuple((lot.id, lot.frames) for lot in self._template.of(frames, self._moment(at)).lots) if frames else ()

    def _missed_without(self, at: int) -> set[tuple[str, str | None]]:
        """The limits that are missed anyway."""
        return _missed(self._planned(None, at))

    def _planned(self, frames: int | None, at: int) -> Plan:
        """The plan at the moment of the pull, as if it had come; other pulls that are planned stay likely."""
        return Planning(self._problem(frames, at), cures=False).plan()

    def _problem(self, frames: int | None, at: int) -> Problem:
        if not self._template.wanted():
            raise Unwanted
        problem, own = self._view.problem, () if frames is None else (self._template.of(frames, self._moment(at)),)
        ahead = {name: moment for name, moment in problem.ahead.items() if not self._template.moves or name != self._template.name}
        return problem._replace(harvests=(*self._others, *own), ahead=ahead, as_of=at, asks=False)

    def _moment(self, at: int) -> datetime:
        return datetime.fromtimestamp(at, self._view.zone)

    def _first(self, plan: Plan | None) -> int | None:
        """When its wet frames, or its comb, first go back onto hives."""
        giving = {card.key for card in self._view.rules.cards if "bees" in card.card.brings_to and "extracted" in card.card.for_}
        back = (task.start for task in plan.tasks if task.harvest == self._template.name and task.rule in giving and task.has_time) if plan else ()
        return min(back, default=None)


def _limits(plan: Plan) -> list[Warning]:
    """The limits of food safety, colony and crop that a plan misses."""
    losses = {task.id: task.loss for task in plan.tasks}
    return [one for one in plan.warnings if one.kind not in QUESTIONS and one.task and losses.get(one.task, "comfort") != "comfort"]


def _missed(plan: Plan) -> set[tuple[str, str | None]]:
    return {(one.kind, one.task) for one in _limits(plan)}


def _treated(view: LedgerView, plan: Plan | None) -> int | None:
    """When mites are treated then."""
    treating = {card.key for card in view.rules.cards if card.card.treats}
    return min((task.start for task in plan.tasks if task.rule in treating and task.is_open and task.has_time), default=None) if plan else None


def asked_of(view: LedgerView) -> Asked:
    """What the yard and its rules ask of a pull."""
    row = view.rules.treatments.get(view.yard.treatment or "", {})
    by, capped = float(view.rules.trade["treatment_by"]), float(view.rules.trade["capped_at_least"])
    return Asked(capped, view.yard.limits.moisture, by, float(row.get("length", 0.0)), view.yard.treatment if row else None)


def is_it_time_text(view: LedgerView, sample: Sample, apiary: str | None, now: int, width: int) -> str:
    """What speaks for pulling now and what against, in words; of an `apiary` where the yard has several."""
    today, seen = datetime.fromtimestamp(now, view.zone).date(), view.seen_at(apiary)
    evidence = {mark: words[-1] for mark, words in seen.evidence.items() if words}
    spoken = is_it_time(seen.season, today, sample, asked_of(view), evidence)
    return time_text(spoken, today, apiary or view.yard.yard, view.words, width)
