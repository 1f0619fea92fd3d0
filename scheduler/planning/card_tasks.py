"""One card laid over one subject: a draft with its phases, hold, dates and reasons, and its repetitions."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import time

from scheduler.facts.people import taker
from scheduler.local_time import DAYS, HOUR, ceil_to_minute
from scheduler.planning.anchors import Moment, Moments, Unknown, reason
from scheduler.planning.draft import Draft, Subject, Want
from scheduler.planning.holds import Holding, Resource, estimated, held, taken_out_early, ways
from scheduler.planning.objective import QUARTER
from scheduler.planning.plan import Link, Reason, Warning
from scheduler.planning.problem import Problem
from scheduler.planning.subjects import Subjects
from scheduler.planning.task_ids import repeated, repetition_of, task_id
from scheduler.planning.windows import OpenWhen
from scheduler.quantities import Statement, elapsed, say
from scheduler.rules.amounts import amount
from scheduler.rules.environment import Environment
from scheduler.rules.rule_set import LoadedCard
from scheduler.rules.schema import Alert
from scheduler.rules.short_forms import WANTED, Anchor, Window
from scheduler.rules.templates import render

EARLY = 4 * HOUR  # how much sooner than its day and hour a repetition may come, a quarter of the gap at most [s]; assumed
MOST_REPEATS = 60  # of one card for one lot; a winter of weekly looks is under 30


_LEAST_LEFT = 60  # of work that is not told as done, however long somebody worked on it [s]
OF_THE_FIRST = frozenset({"put off", "begun", "done in part"})  # kinds of reason that hold of the task the keeper told of, not of those that repeat it


class Drafting:
    """Makes drafts for one plan, and keeps what had to be told on the way."""

    def __init__(self, problem: Problem, equipment: Mapping[str, tuple[Resource, ...]], moments: Mapping[str | None, Moments], subjects: Subjects) -> None:
        self.rules, self.people, self.equipment, self.moments = problem.rules, problem.yard.people, equipment, moments
        self.yard, self.subjects = problem.yard, subjects
        self.as_of, self.happened, self.in_force = problem.as_of, problem.happened, problem.in_force
        self.warnings: list[Warning] = []
        self._unknown: set[str] = set()
        self._open: dict[tuple[str, Subject | str, str], tuple[OpenWhen, ...]] = {}

    def draft(self, card: LoadedCard, subject: Subject, stream: str, pulled: int, env: Environment, number: int | None, want: Want | None = None) -> Draft:
        """The first task of a card for a subject, for one batch of it, or for what is wanted of it."""
        name = task_id(subject.path(), card.name, number)
        hold = held(name, subject, self.happened, self.as_of)
        holdings = ways(card, env, self.equipment, self.rules.readable[card.set], hold)
        usable = [holding for holding in holdings if not holding.refusal]
        chosen: Sequence[Holding] = usable or holdings[:1]
        hands = card.card.hands
        apiary = self.subjects.apiary(subject)
        at = apiary if self.subjects.at_hives(card) else None
        way = self.yard.travel(apiary) if at is None and subject.harvest and not card.is_before_pull else 0
        draft = Draft(
            id=name, card=card, subject=subject, stream=stream, batch=number, repetition=None,
            title=render(card.card.title, env),
            begin=ceil_to_minute(amount(hands.before, "duration", env).value),
            end=ceil_to_minute(amount(hands.after, "duration", env).value) if hands.after else 0,
            hours=hands.hours,
            modes=tuple(holding.mode for holding in chosen),
            release=self.as_of if card.is_before_pull else max(pulled + way, self.as_of),
            nominal=self.as_of if card.is_before_pull else pulled + way,
            open_begin=self._opens(card, subject, "begin", card.card.window, env),
            open_end=self._opens(card, subject, "end", card.card.end_window, env),
            alerts=tuple(_told(card.card.alerts, env, looked=chosen[0].is_looked_at)),
            reasons=[Reason("rule", say("rule", text=render(card.card.why, env)), card.place, card.sources), *self._without(card)],
            holds=tuple(holding.reasons for holding in chosen),
            cautions=tuple(render(self.rules.caution_words[one], env) for one in card.card.caution),
            how=render(card.card.how, env) if card.card.how else "",
            by=render(card.card.by, env) if card.card.by else "",
            briefs=tuple(render(words, env) for one in card.card.caution if (words := self.rules.brief_cautions[one])),
            closing=(card.card.closing.name, render(card.card.closing.title, env)) if card.card.closing else ("", ""),
            provisional=_written(card.card.provisional, env),
            refusal=None if usable or name in self.happened.done or name in self.happened.skipped else holdings[0].refusal,
            at=at,
            way=way,
            hive=self.subjects.hive(subject),
            there=self._there(card),
            count=float(env.names["batch"]["count"]) if number is not None else _units(card, env),
        )  # fmt: skip
        draft.work = draft.begin, draft.end
        if at is not None and (there := self.yard.travel(at)):
            draft.reasons.append(Reason("way", say("way there", place=at, way=elapsed(there)), card.place))
        elif way:
            draft.reasons.append(Reason("way", say("way from there", place=apiary or "", way=elapsed(way)), card.place))
        self._give(draft, env)
        self._anchor(draft, env, pulled, want)
        self._heed(draft)
        if hold and name in self.happened.done and (says := taken_out_early(draft.title, hold, chosen[0])):
            self.warnings.append(Warning(says.kind, name, says))
        return draft

    def repeats(self, first: Draft, pulled: int, env: Environment) -> Iterator[Draft]:
        """The card again and again: each so long after the last, until its end."""
        card = first.card
        repeat = card.card.repeat
        if repeat is None or first.refusal:
            return
        gap = amount(repeat.every, "duration", env)
        if not 0 < gap.value < math.inf:
            return
        every = ceil_to_minute(gap.value)
        times = round(amount(repeat.times, "count", env).value) if repeat.times else MOST_REPEATS
        until = self.moments[self.subjects.apiary(first.subject)].of(repeat.until, pulled, env) if repeat.until else None
        last = until.at if isinstance(until, Moment) else None
        first.reasons += [estimated(name, estimate, card.place) for name, estimate in gap.estimates]
        recorded = max((repetition_of(name) for name in (*self.happened.done, *self.happened.begun) if name.startswith(f"{first.id}.")), default=0)
        previous, nominal = first, first.nominal  # not from when the plan is made: weeks later the same repetitions are left
        begin, title = ceil_to_minute(amount(card.card.hands.before, "duration", env).value), render(card.card.title, env)
        reasons = [one for one in first.reasons if one.says.kind not in OF_THE_FIRST]  # what was told of the first is not told of those after it
        for number in range(2, min(times, MOST_REPEATS) + 1):
            nominal += every
            if last is not None and nominal > last and number > recorded:
                return
            again = replace(
                first,
                id=repeated(first.id, number),
                repetition=number,
                title=title,
                begin=begin,
                begun=None,
                release=first.release if card.after else max(nominal, self.as_of),
                nominal=first.nominal if card.after else nominal,
                work=(begin, first.end),
                due=None,
                deadline=None,
                until=last,
                links=_again(first.id, previous.id, number, every),
                reasons=[*reasons, Reason("repeat", say("repeated", number=number), card.place)],
            )
            self._heed(again)
            yield again
            previous = again

    def _give(self, draft: Draft, env: Environment) -> None:
        """Give the work to whoever takes it by its card, its rule set, its product, its stream or its place."""
        card, product = draft.card, [env.names["lot"]["product"]] if draft.subject.lot else []
        words = (card.key, card.name, *card.card.formerly, card.set, *product, draft.stream, *([draft.at] if draft.at else ()), card.card.place)
        taken = taker(self.people, words) if self.people and (draft.begin or draft.end) else None
        if taken:
            draft.person, draft.bound = taken[0], taken[1] in self.people[taken[0]].only
            if card.card.together and not draft.bound:
                draft.shared = amount(card.card.together, "share", env).value
            draft.reasons.append(Reason("person", say("taken by", person=taken[0], takes=taken[1]), card.place))

    def _there(self, card: LoadedCard) -> str | None:
        """The only piece of equipment of a kind that a card takes whole and none for a while, where it is there at times only."""
        for kind in card.card.uses:
            found = self.equipment.get(kind, ())
            if len(found) == 1 and self.yard.equipment[found[0].name].available and not any(kind in one.card.occupies for one in self.rules.cards):
                return found[0].name
        return None

    def _without(self, card: LoadedCard) -> Iterator[Reason]:
        """Equipment that the card uses and the yard file does not name."""
        for kind in card.card.occupies:
            if kind not in self.equipment:
                yield Reason(f"no {kind}", say("no such equipment", equipment=kind), card.place)

    def _anchor(self, draft: Draft, env: Environment, pulled: int, want: Want | None) -> None:
        """Release, due date and deadline from the card's anchors."""
        card = draft.card.card
        for moment in self._moments(draft, card.earliest, pulled, env, want):
            draft.release, draft.nominal = max(draft.release, moment.at), max(draft.nominal, moment.at)
            draft.reasons.append(reason("not before", moment, draft.card.place))
        for moment in self._moments(draft, card.due, pulled, env, want, by=True):
            draft.due = moment.at if draft.due is None else min(draft.due, moment.at)
            draft.reasons.append(reason("due", moment, draft.card.place))
        for moment in self._moments(draft, card.deadline, pulled, env, want, by=True):
            draft.deadline = moment.at if draft.deadline is None else min(draft.deadline, moment.at)
            draft.reasons.append(reason("deadline", moment, draft.card.place))
        for window in (*card.window, *card.end_window):
            draft.reasons += _windows_told(window, draft.card.place)

    def _moments(self, draft: Draft, anchors: Iterable[Anchor], pulled: int, env: Environment, want: Want | None, *, by: bool = False) -> Iterator[Moment]:
        for anchor in anchors:
            if anchor.of == WANTED and want is None:  # recorded of a want that is gone
                continue
            found = self.moments[self.subjects.apiary(draft.subject)].of(anchor, want.by if want and anchor.of == WANTED else pulled, env, by=by)
            if found is None:
                continue
            if isinstance(found, Unknown):
                draft.provisional = draft.provisional or say("no such mark", mark=found.mark)
                self._without_date(draft, found.mark)
                continue
            if not found.firm:
                draft.provisional = draft.provisional or say("rests on a normal", mark=found.mark)
            draft.reasons += [estimated(name, estimate, draft.card.place) for name, estimate in found.estimates]
            yield found

    def _without_date(self, draft: Draft, mark: str) -> None:
        """Say once of each mark that the yard file does not have it."""
        if mark not in self._unknown:
            self._unknown.add(mark)
            self.warnings.append(Warning("unknown mark", draft.id, say("unknown mark", mark=mark, title=draft.title)))

    def _heed(self, draft: Draft) -> None:
        """What the keeper told of this task: put off until later, begun, done in part."""
        until = self.happened.put_off.get(draft.id)
        if until is not None and until > draft.release:
            draft.release = draft.nominal = until
            draft.reasons.append(Reason("put off", say("put off")))
        begun = self.happened.begun.get(draft.id)
        if begun is not None:
            draft.worked = self._worked(draft, begun)
            draft.begun, draft.release, draft.begin = begun, begun - draft.worked, 0
            draft.reasons.append(Reason("begun", say("begun")))
        part = self.happened.partly.get(draft.id)
        if part is not None and draft.count > 0:
            left = max(0.0, draft.count - part)
            draft.begin = ceil_to_minute(draft.begin * left / draft.count)
            draft.title = say("left of it", title=draft.title, left=left, count=draft.count)
            draft.reasons.append(Reason("done in part", say("done in part", part=part, count=draft.count)))
        worked = self.happened.worked.get(draft.id)
        if worked is not None and draft.begin > 0:
            left_of = max(_LEAST_LEFT, draft.begin - worked)
            draft.title = say("minutes left of it", title=draft.title, left=elapsed(left_of), of=elapsed(draft.begin))
            draft.begin = left_of
            draft.reasons.append(Reason("done in part", say("worked on it", worked=elapsed(worked))))

    def _worked(self, draft: Draft, begun: int) -> int:
        """How long the work before a hold took that began at a moment: as the plan in force had it, else as the card has it."""
        was = self.in_force.tasks.get(draft.id) if self.in_force else None
        if was is None or (was.sittings and abs(was.sittings[-1][1] - begun) > QUARTER):
            return draft.begin
        return max(0, was.sittings[-1][1] - was.start if was.sittings else begun - was.start)

    def _opens(self, card: LoadedCard, subject: Subject, phase: str, windows: tuple[Window, ...], env: Environment) -> tuple[OpenWhen, ...]:
        key = (card.key, subject if any(window.sun for window in windows) else subject.season, phase)
        if key not in self._open:
            self._open[key] = tuple(_opened(window, env) for window in windows)
        return self._open[key]


def _units(card: LoadedCard, env: Environment) -> float:
    return max(0.0, amount(card.card.counted, "count", env).value) if card.card.counted else 0.0


def _again(first: str, previous: str, number: int, every: int) -> list[Link]:
    """A repetition counts from the start of the first, so that it does not creep by the minutes of the work, and may come a few hours early.

    Where others came late it may stay where it was published, up to a quarter of the gap early.
    """
    early = min(every // 4, EARLY)
    of_first = Link(first, "start to start", (number - 1) * every - early, None, every // 4 - early)
    return [of_first] if previous == first else [Link(previous, "start to start", every - every // 4), of_first]


def _windows_told(window: Window, rule: str) -> Iterator[Reason]:
    if window.season and (span := window.season.inside or window.season.outside):
        named, inside = isinstance(span, str), window.season.inside is not None
        of_season = say("inside a season", span=str(span)) if inside else say("outside a season", span=str(span))
        of_own = say("inside days of one's own", span=str(span)) if inside else say("outside days of one's own", span=str(span))
        yield Reason(f"season {span}", of_season if named else of_own, rule)
    if window.sun:
        yield Reason(f"window {window.sun.at}", say("done about", event=window.sun.at), rule)
    if window.daylight:
        yield Reason("window daylight", say("done in daylight"), rule)
    if window.on:
        yield Reason("window days", say("done on days", days=", ".join(DAYS[day] for day in window.on)), rule)


def _written(text: str | None, env: Environment) -> Statement | None:
    """What an author wrote, where any words are left of it for this subject."""
    words = render(text, env) if text else ""
    return say("as written", text=words) if words else None


def _told(alerts: Iterable[Alert], env: Environment, *, looked: bool) -> Iterator[tuple[str, int, str]]:
    """Moment, seconds before it and words of each alert, those of a look where one ends the hold."""
    for alert in alerts:
        if alert.at != ("hold done" if looked else "look"):
            yield "hold done" if alert.at == "look" else alert.at, _seconds(alert.before, env), render(alert.say, env)


def _seconds(text: str | None, env: Environment) -> int:
    return ceil_to_minute(amount(text, "duration", env).value) if text else 0


def _opened(window: Window, env: Environment) -> OpenWhen:
    sun, season, warm = window.sun, window.season, window.temperature
    return OpenWhen(
        sun=(sun.at, round(amount(sun.from_, "duration", env).value), round(amount(sun.to, "duration", env).value)) if sun else None,
        daylight=window.daylight,
        clock=_clock(window.clock) if window.clock else None,
        inside=season.inside if season else None,
        outside=season.outside if season else None,
        days=(_degrees(warm.days_at_least, env), _degrees(warm.days_at_most, env)) if warm else (None, None),
        nights=(_degrees(warm.nights_at_least, env), _degrees(warm.nights_at_most, env)) if warm else (None, None),
        means=(_degrees(warm.mean_at_least, env), None) if warm else (None, None),
        on=window.on,
    )


def _degrees(text: str | None, env: Environment) -> float | None:
    return None if text is None else amount(text, "temperature", env).value


def _clock(text: str) -> tuple[time, time]:
    opens, _, closes = text.partition("-")
    return time.fromisoformat(opens.strip()), time.fromisoformat(closes.strip())
