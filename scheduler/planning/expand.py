"""Which tasks follow: cards laid over lots, harvests and the yard, with batches, repetitions and what waits for what."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import time
from functools import cached_property
from typing import Any

from scheduler.facts.yard import Yard
from scheduler.planning.batches import batch, split
from scheduler.planning.context import equipment, names
from scheduler.planning.drafts import NOTHING, Draft, Happened, Pull, Subject, slug
from scheduler.planning.holds import Holding, estimated, ways
from scheduler.planning.moments import Moment, Moments, Unknown, reason
from scheduler.planning.plan import Link, Reason, Warning
from scheduler.planning.windows import OpenWhen, Windows
from scheduler.rules.expressions import Amount, Environment, amount, condition, render
from scheduler.rules.load import LoadedCard, Rules
from scheduler.rules.schema import Anchor, Window

MOST_REPEATS = 60  # of one card for one lot; a winter of weekly looks is under 30


class Expansion:
    """The drafts of one yard's harvests, by card and subject, and what had to be told on the way."""

    def __init__(self, yard: Yard, rules: Rules, pulls: Sequence[Pull], windows: Windows, moments: Moments, as_of: int, happened: Happened = NOTHING, failed: frozenset[tuple[str, Subject]] = frozenset()) -> None:
        self.yard, self.rules, self.pulls, self.windows, self.moments = yard, rules, pulls, windows, moments
        self.as_of, self.happened, self.failed = as_of, happened, failed
        self.equipment = equipment(yard)
        self.contexts: dict[Subject, dict[str, Any]] = {}
        self.drafts: dict[tuple[str, Subject], list[Draft]] = {}
        self.warnings: list[Warning] = []
        self._told: set[str] = set()
        self._open: dict[tuple[str, str], tuple[OpenWhen, ...]] = {}

    def run(self) -> list[Draft]:
        """Every draft, linked, in a fixed order."""
        self.contexts = {subject: names(self.yard, self.moments.season, self._pulls_of(subject), subject) for subject in self.subjects}
        for card in self.rules.in_order:
            for subject in self.subjects:
                if self._stream(card, subject) and self._exists(card, subject):
                    self.drafts[card.key, subject] = list(self._make(card, subject))
        for (key, subject), drafts in self.drafts.items():
            self._link(self.rules.by_key[key], subject, drafts)
        return [draft for drafts in self.drafts.values() for draft in drafts]

    @cached_property
    def subjects(self) -> tuple[Subject, ...]:
        """Every lot, harvest and season, seasons first."""
        found: dict[Subject, None] = {Subject(pull.season): None for pull in self.pulls}
        for pull in self.pulls:
            found[Subject(pull.season, pull.harvest.harvest)] = None
            found.update((Subject(pull.season, pull.harvest.harvest, lot.id), None) for lot in pull.harvest.lots)
        return tuple(found)

    @cached_property
    def _by_harvest(self) -> dict[str, Pull]:
        return {pull.harvest.harvest: pull for pull in self.pulls}

    @cached_property
    def _lots(self) -> dict[Subject, str]:
        return {Subject(pull.season, pull.harvest.harvest, lot.id): lot.kind for pull in self.pulls for lot in pull.harvest.lots}

    @cached_property
    def _within(self) -> dict[tuple[str, str | None], list[Subject]]:
        """Subjects by season and harvest (None: all of the season)."""
        found: dict[tuple[str, str | None], list[Subject]] = {}
        for subject in self.subjects:
            found.setdefault((subject.season, None), []).append(subject)
            if subject.harvest:
                found.setdefault((subject.season, subject.harvest), []).append(subject)
        return found

    def _pulls_of(self, subject: Subject) -> list[Pull]:
        if subject.harvest:
            return [self._by_harvest[subject.harvest]]
        return [pull for pull in self.pulls if pull.season == subject.season]

    def _stream(self, card: LoadedCard, subject: Subject) -> str | None:
        """The stream by which a card is about a subject, if it is."""
        own = self._lots[subject] if subject.lot else "harvest" if subject.harvest else "yard"
        return own if own in card.card.for_ else None

    def _exists(self, card: LoadedCard, subject: Subject) -> bool:
        if (card.key, subject) in self.failed:
            return False
        if card.instead_of and self._targets(card.instead_of, subject, None):
            return False
        if any(not self._targets(key, subject, None) for key in card.with_):
            return False
        return not card.card.when or condition(card.card.when, self._env(card, subject))

    def _env(self, card: LoadedCard, subject: Subject) -> Environment:
        return self.rules.environment(card.set, self.contexts[subject])

    def _make(self, card: LoadedCard, subject: Subject) -> Iterator[Draft]:
        env = self._env(card, subject)
        for number, count, of in self._batches(card, subject, env):
            inner = env.child(batch=batch(env, count, of)) if number is not None else env
            first = self._draft(card, subject, inner, number)
            yield first
            if card.card.repeat:
                yield from self._repeats(card, first, env)

    def _batches(self, card: LoadedCard, subject: Subject, env: Environment) -> list[tuple[int | None, float, int]]:
        """Batch number, count and how many batches there are; one unnumbered entry where the card is not split."""
        batches = card.card.batches
        if batches is None:
            return [(None, 0.0, 1)]
        if card.batches_as:
            leaders = [draft for draft in self._targets(card.batches_as, subject, None) if draft.batch is not None and not draft.repetition]
            return [(draft.batch, draft.count, len(leaders)) for draft in leaders] or [(None, 0.0, 1)]
        total = round(amount(batches.of or "0", "count", env).value)
        sizes = split(total, card, env, self.equipment.get(batches.fits or "", ()))
        return [(i, float(size), len(sizes)) for i, size in enumerate(sizes, 1)]

    def _draft(self, card: LoadedCard, subject: Subject, env: Environment, number: int | None) -> Draft:
        name = f"{subject.path()}/{slug(card.name)}" + (f".{number}" if number is not None else "")
        holdings = ways(card, env, self.equipment, self.rules.parameters[card.set])
        usable = [holding for holding in holdings if not holding.refusal]
        chosen: Sequence[Holding] = usable or holdings[:1]
        hands = card.card.hands
        pulled = self._pulled(subject)
        draft = Draft(
            id=name, card=card, subject=subject, stream=self._stream(card, subject) or "", batch=number, repetition=None,
            title=render(card.card.title, env),
            begin=_minutes(amount(hands.before, "duration", env).value),
            end=_minutes(amount(hands.after, "duration", env).value) if hands.after else 0,
            hours=hands.hours,
            modes=tuple(holding.mode for holding in chosen),
            release=max(pulled, self.as_of),
            open_begin=self._opens(card, "begin", card.card.window, env),
            open_end=self._opens(card, "end", card.card.end_window, env),
            alerts=tuple((alert.at, round(amount(alert.before, "duration", env).value) if alert.before else 0, render(alert.say, env)) for alert in card.card.alerts),
            reasons=[Reason("rule", render(card.card.why, env), card.place, card.sources), *chosen[0].reasons],
            cautions=tuple(self.rules.cautions[one] for one in card.card.caution),
            provisional=render(card.card.provisional, env) if card.card.provisional else None,
            refusal=None if usable else holdings[0].refusal,
            count=float(env.names["batch"]["count"]) if number is not None else 0.0,
        )  # fmt: skip
        self._anchor(draft, env, pulled)
        self._heed(draft)
        return draft

    def _pulled(self, subject: Subject) -> int:
        return max(pull.pulled for pull in self._pulls_of(subject)) if not subject.harvest else self._by_harvest[subject.harvest].pulled

    def _anchor(self, draft: Draft, env: Environment, pulled: int) -> None:
        """Release, due date and deadline from the card's anchors."""
        card = draft.card.card
        for moment in self._moments(draft, card.earliest, pulled, env):
            if moment.at > draft.release:
                draft.release = moment.at
            draft.reasons.append(reason("not before", moment, draft.card.place))
        for moment in self._moments(draft, card.due, pulled, env):
            draft.due = moment.at if draft.due is None else min(draft.due, moment.at)
            draft.reasons.append(reason("due", moment, draft.card.place))
        for moment in self._moments(draft, card.deadline, pulled, env):
            draft.deadline = moment.at if draft.deadline is None else min(draft.deadline, moment.at)
            draft.reasons.append(reason("deadline", moment, draft.card.place))
        for window in (*card.window, *card.end_window):
            span = window.season and (window.season.inside or window.season.outside)
            if span:
                draft.reasons.append(Reason(f"season {span}", f"its window lies {'inside' if window.season and window.season.inside else 'outside'} the season \"{span}\"", draft.card.place))
            if window.sun:
                draft.reasons.append(Reason(f"window {window.sun.at}", f"done about {window.sun.at}", draft.card.place))

    def _moments(self, draft: Draft, anchors: Iterable[Anchor], pulled: int, env: Environment) -> Iterator[Moment]:
        for anchor in anchors:
            found = self.moments.of(anchor, pulled, env)
            if found is None:
                continue
            if isinstance(found, Unknown):
                draft.provisional = draft.provisional or f'the yard file has no "{found.mark}"'
                self._tell("unknown mark", draft.id, found.mark, f'"{found.mark}" is not in the yard file, so {draft.title!r} has no date of its own: write "{found.mark}: ..." under season')
                continue
            if not found.firm:
                draft.provisional = draft.provisional or f"rests on the yard's normal for {found.mark}, not on an observation"
            draft.reasons += [estimated(name, estimate, draft.card.place) for name, estimate in found.estimates]
            yield found

    def _tell(self, kind: str, task: str | None, once: str, text: str) -> None:
        if (mark := f"{kind} {once}") not in self._told:
            self._told.add(mark)
            self.warnings.append(Warning(kind, task, text))

    def _heed(self, draft: Draft) -> None:
        """What the keeper told of this task: put off until later, begun, done in part."""
        until = self.happened.put_off.get(draft.id)
        if until is not None and until > draft.release:
            draft.release = until
            draft.reasons.append(Reason("put off", "put off by the keeper"))
        begun = self.happened.begun.get(draft.id)
        if begun is not None:
            draft.begun, draft.release, draft.begin = begun, begun, 0
            draft.reasons.append(Reason("begun", "begun by the keeper; its hold runs since then"))
        part = self.happened.partly.get(draft.id)
        if part is not None and draft.count > 0:
            left = max(0.0, draft.count - part)
            draft.begin = _minutes(draft.begin * left / draft.count)
            draft.title = f"{draft.title} ({left:g} of {draft.count:g} left)"
            draft.reasons.append(Reason("done in part", f"{part:g} of {draft.count:g} are done"))

    def _opens(self, card: LoadedCard, phase: str, windows: tuple[Window, ...], env: Environment) -> tuple[OpenWhen, ...]:
        key = (card.key, phase)
        if key not in self._open:
            self._open[key] = tuple(_opened(window, env) for window in windows)
        return self._open[key]

    def _repeats(self, card: LoadedCard, first: Draft, env: Environment) -> Iterator[Draft]:
        repeat = card.card.repeat
        if repeat is None or first.refusal:
            return
        gap = amount(repeat.every, "duration", env)
        if not 0 < gap.value < math.inf:
            return
        every = round(gap.value)
        times = round(amount(repeat.times, "count", env).value) if repeat.times else MOST_REPEATS
        until = self.moments.of(repeat.until, self._pulled(first.subject), env) if repeat.until else None
        last = until.at if isinstance(until, Moment) else None
        first.reasons += [estimated(name, estimate, card.place) for name, estimate in gap.estimates]
        previous, nominal = first, first.release
        for number in range(2, min(times, MOST_REPEATS) + 1):
            nominal += every
            if last is not None and nominal > last:
                return
            again = replace(first, id=f"{first.id}.{number}", repetition=number, release=nominal if not self._waits(card) else first.release, due=None, deadline=None, until=last, links=[Link(previous.id, "finish to start", every, None)], reasons=[*first.reasons, Reason("repeat", f"again {number}", card.place)])
            self._heed(again)
            yield again
            previous = again

    def _waits(self, card: LoadedCard) -> bool:
        return bool(card.after)

    def _targets(self, key: str, subject: Subject, across: str | None) -> list[Draft]:
        """The drafts of another card that a subject's card refers to, from the same lot outwards."""
        target = self.rules.by_key[key].card
        own: Iterable[Subject]
        if "yard" in target.for_:
            own = (Subject(subject.season),)
        elif across == "season" or subject.harvest is None:
            own = self._within.get((subject.season, None), [])
        elif "harvest" in target.for_ and across is None:
            own = (Subject(subject.season, subject.harvest),)
        elif across == "harvest" or subject.lot is None:
            own = self._within.get((subject.season, subject.harvest), [])
        else:
            own = (subject,)
        return [draft for one in own for draft in self.drafts.get((key, one), ())]

    def _link(self, card: LoadedCard, subject: Subject, drafts: list[Draft]) -> None:
        env = self._env(card, subject)
        for key, relation in card.after.items():
            targets = self._targets(key, subject, relation.across)
            if not targets:
                continue
            lag = amount(relation.at_least, "duration", env) if relation.at_least else Amount(0.0)
            least = round(lag.value)
            greatest = round(amount(relation.within, "duration", env).value) if relation.within else None
            last = self._last(targets)
            for draft in drafts:
                if draft.repetition is not None:
                    continue
                follows = [target for target in last if target.batch == draft.batch] if card.batches_as and self._same_batches(card, key) else last
                draft.reasons += [estimated(name, estimate, card.place) for name, estimate in lag.estimates]
                draft.links += [Link(target.id, relation.relation, least, greatest) for target in follows or last]

    def _same_batches(self, card: LoadedCard, key: str) -> bool:
        other = self.rules.by_key[key]
        return key == card.batches_as or other.batches_as is not None and other.batches_as == card.batches_as

    @staticmethod
    def _last(targets: list[Draft]) -> list[Draft]:
        """Of repeated tasks only the last of each."""
        latest: dict[tuple[str, Subject, int | None], Draft] = {}
        for draft in targets:
            latest[draft.card.key, draft.subject, draft.batch] = draft
        return list(latest.values())


def _minutes(seconds: float) -> int:
    return math.ceil(seconds / 60 - 1e-9) * 60


def _opened(window: Window, env: Environment) -> OpenWhen:
    sun, season, warm = window.sun, window.season, window.temperature
    degrees = (lambda text: amount(text, "temperature", env).value if text is not None else None)  # noqa: E731
    return OpenWhen(
        sun=(sun.at, round(amount(sun.from_, "duration", env).value), round(amount(sun.to, "duration", env).value)) if sun else None,
        clock=_clock(window.clock) if window.clock else None,
        inside=season.inside if season else None,
        outside=season.outside if season else None,
        days=(degrees(warm.days_at_least), degrees(warm.days_at_most)) if warm else (None, None),
        nights=(degrees(warm.nights_at_least), degrees(warm.nights_at_most)) if warm else (None, None),
    )


def _clock(text: str) -> tuple[time, time]:
    opens, _, closes = text.partition("-")
    return time.fromisoformat(opens.strip()), time.fromisoformat(closes.strip())
