"""Treatments of hives: which of them are under one or within its wait, by what the keeper recorded and the table of active ingredients.

A treatment keeps supers and wet frames off its hives from its beginning to its end and through the wait after it. One whose end nobody recorded
goes on; the keeper's label overrules the table.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from scheduler.facts.harvest import EVERY_HIVE, Harvest
from scheduler.planning.anchors import SEASON_GAP
from scheduler.planning.draft import Happened, Pull, Subject, Treatment
from scheduler.planning.plan import Warning
from scheduler.planning.task_ids import repeated, task_id
from scheduler.quantities import say
from scheduler.rules.amounts import temperature_limits
from scheduler.rules.rule_set import Rules
from scheduler.rules.schema import CHOSEN
from scheduler.rules.vocabulary import filled

if TYPE_CHECKING:
    from scheduler.planning.problem import Problem

OTHER = "other"  # the row for an active ingredient that nobody named


class Course(NamedTuple):
    """The treatment of one hive (or of "all"): from when to when supers stay off it [s since 1970], its wait counted."""

    hive: str
    begins: int
    free: int
    active: str | None
    supers: bool  # whether the table says that supers may be on


class Group(NamedTuple):
    """Hives of a card of treatment that were begun together, or not yet; `number` is the one in the id, none of the base."""

    number: int | None
    hives: tuple[str, ...]
    begins: int | None = None
    ends: int | None = None


class Treatments:
    """What is known of treatments in one plan."""

    def __init__(self, rules: Rules, happened: Happened, usual: str | None, as_of: int, pulls: Sequence[Pull]) -> None:
        self.rows, self.usual, self.as_of, self.pulls = rules.treatments, usual, as_of, pulls
        self.cards = tuple(card for card in rules.cards if card.card.treats)
        self.recorded = tuple(happened.treatments)
        self.groups = {(card.key, season): groups for season in self._seasons for card, groups in self._of_season(season)}
        self._by_task = frozenset(season for season in self._seasons if self._begun_as_a_task(season, happened))
        self.all = (*self.recorded, *self._by_tasks(happened))

    def active(self, season: str) -> str | None:
        """The active ingredient in a season: as first recorded, else the yard's usual one."""
        return next((one.active for one in self._within(season) if one.active), self.usual)

    def row(self, active: str | None) -> dict[str, Any]:
        """What the table says of an active ingredient, as the names under `treatment`."""
        said = self.rows.get(active or OTHER) or self.rows.get(OTHER, {})
        return filled("treatment", {"chosen": active is not None, "active": active, **{name.replace(" ", "_"): value for name, value in said.items()}})

    def unchosen(self, pulls: Iterable[Pull]) -> Warning | None:
        """The question how mites are treated this season, of its last pulls, where the keeper did not say."""
        recent = [pull.season for pull in pulls if self.as_of - pull.pulled <= SEASON_GAP]
        if not self.cards or not recent or all(self.names(one, "metric")["chosen"] for one in recent if Subject(one).year == Subject(recent[-1]).year):
            return None
        return Warning("treatment not chosen", None, say("treatment not chosen", known=", ".join(active for active in self.rows if active != OTHER)))

    def names(self, season: str, units: str) -> dict[str, Any]:
        """The names that expressions read under `treatment`."""
        active = self.active(season)
        limits = temperature_limits(self.rows.get(active or OTHER, {}), units)
        return self.row(active) | {"chosen": active is not None or season in self._by_task or any(self._within(season)), "limits": limits}

    def at(self, harvest: Harvest, moment: int) -> tuple[Course, ...]:
        """The treatments that its hives were under, or within the wait of, at a moment [s since 1970]."""
        return tuple(
            course
            for one in self.all
            for course in self._courses(one, harvest.hives)
            if course.begins <= moment and (moment < course.free or self._ends(one, course.hive) is None)
        )

    def keeps_off(self, harvests: Iterable[Harvest]) -> Course | None:
        """The treatment that keeps supers and wet frames off the hives longest from now on."""
        found = [course for harvest in harvests for course in self.at(harvest, self.as_of) if not course.supers]
        return max(found, key=lambda course: course.free, default=None)

    def happened(self, before: Happened) -> Happened:
        """What became of the cards of treatment, as recorded by hive."""
        begun, done = dict(before.begun), dict(before.done)
        for (key, season), groups in self.groups.items():
            card = next(card for card in self.cards if card.key == key)
            base = task_id(Subject(season).path(), card.name)
            for group in groups:
                name = base if group.number is None else repeated(base, group.number)
                if group.begins is not None:
                    begun[name] = group.begins
                if group.begins is not None and group.ends is not None:
                    done[name] = (group.begins, group.ends)
        return before._replace(begun=begun, done=done)

    @property
    def _seasons(self) -> list[str]:
        return list(dict.fromkeys(pull.season for pull in self.pulls))

    def hives(self, season: str) -> tuple[str, ...]:
        """The hives that the harvests of a season name; "all" where they name none."""
        return tuple(sorted({hive for pull in self.pulls if pull.season == season for hive in pull.harvest.hives})) or (EVERY_HIVE,)

    def _within(self, season: str) -> Iterator[Treatment]:
        """What was recorded from the first pull of a season to that of the next."""
        first = {name: min(pull.pulled for pull in self.pulls if pull.season == name) for name in self._seasons}
        until = min((moment for name, moment in first.items() if moment > first[season] and Subject(name).year != Subject(season).year), default=None)
        elsewhere = {hive for name in self._seasons if Subject(name).year == Subject(season).year and name != season for hive in self.hives(name)}
        others = elsewhere - {EVERY_HIVE, *self.hives(season)}
        yield from (one for one in self.recorded if one.begins >= first[season] and (until is None or one.begins < until) and one.hive not in others)

    def _of_season(self, season: str) -> Iterator[tuple[Any, tuple[Group, ...]]]:
        """The groups of hives of each card of treatment that something was recorded of.

        A treatment belongs to the first card whose active ingredient it can be, and that its hives have not been through; one of every hive, of those left.
        """
        of_card: dict[str, dict[str, tuple[int, int | None]]] = {card.key: {} for card in self.cards}
        for one in self._within(season):
            for card in self.cards:
                fixed = card.card.treats if card.card.treats != CHOSEN else None
                through = of_card[card.key]
                left = [hive for hive in (self.hives(season) if one.hive == EVERY_HIVE else (one.hive,)) if hive not in through]
                if left and not (fixed and one.active and one.active != fixed):
                    through.update((hive, (one.begins, self._ends(one, hive))) for hive in left)
                    break
        for card in self.cards:
            if through := of_card[card.key]:
                yield card, _grouped(through, self.hives(season))

    def _begun_as_a_task(self, season: str, happened: Happened) -> bool:
        """Whether the treatment of the keeper's choice was begun, done or skipped as one task, in a ledger that does not say with what."""
        names = [task_id(Subject(season).path(), card.name) for card in self.cards if card.card.treats == CHOSEN]
        return any(name in told for name in names for told in (happened.begun, happened.done, happened.skipped))

    def _by_tasks(self, happened: Happened) -> Iterator[Treatment]:
        """Treatments that were recorded as a task of the whole apiary."""
        for season in self._seasons:
            for card in self.cards:
                name = task_id(Subject(season).path(), card.name)
                if (card.key, season) in self.groups:
                    continue
                active = self.active(season) if card.card.treats == CHOSEN else card.card.treats
                if name in happened.done:
                    yield Treatment(EVERY_HIVE, *happened.done[name], active)
                elif name in happened.begun:
                    yield Treatment(EVERY_HIVE, happened.begun[name], None, active)

    @staticmethod
    def _ends(one: Treatment, hive: str) -> int | None:
        return dict(one.ended).get(hive, one.ends)

    def _courses(self, one: Treatment, hives: Sequence[str]) -> Iterator[Course]:
        """A treatment of each of these hives; where a harvest names none, of whichever it was."""
        row = self.row(one.active or self.usual)
        for hive in hives or (one.hive,):
            if one.hive in (EVERY_HIVE, hive):
                ends = self._ends(one, hive)
                over = ends if ends is not None else max(self.as_of, one.begins + round(float(row["length"])))
                yield Course(hive, one.begins, over + round(float(row["wait"])), one.active or self.usual, bool(row["supers"]))


def _grouped(through: Mapping[str, tuple[int, int | None]], hives: Sequence[str]) -> tuple[Group, ...]:
    """Hives by when they were begun and ended; those left to do keep the card's own id, or the last that were begun where none is left."""
    spans = sorted(set(through.values()), key=lambda span: (span[0], span[1] is None, span[1] or 0))
    left = tuple(hive for hive in hives if hive not in through)
    found = [Group(number, tuple(sorted(hive for hive in through if through[hive] == span)), *span) for number, span in enumerate(spans, 1)]
    return (*found, Group(None, left)) if left else (*found[:-1], found[-1]._replace(number=None))


def treatments_of(problem: Problem, pulls: Sequence[Pull]) -> Treatments:
    """What is known of treatments in the plan of a problem."""
    return Treatments(problem.rules, problem.happened, problem.yard.treatment, problem.as_of, pulls)
