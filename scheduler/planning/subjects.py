"""What cards are about: every lot, every harvest, and the season; of a yard with several apiaries, the season of each and of the house they share;
where a card asks for it, every hive in its season.

A card for each apiary, or for the yard with its work at the hives, is about each apiary's season; any other about the year's, in which all meet.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from itertools import count as numbers
from typing import TypeVar

from scheduler.facts.apiaries import Apiary, slug
from scheduler.facts.harvest import EVERY_HIVE, Lot
from scheduler.planning.draft import Happened, Pull, Subject
from scheduler.planning.task_ids import card_slug, last_part, path_of, slug_of
from scheduler.rules.rule_set import LoadedCard, Rules
from scheduler.rules.schema import HIVE

R = TypeVar("R")


class Subjects:
    """The subjects of one plan's pulls, and how they lie within each other."""

    def __init__(self, pulls: Sequence[Pull], rules: Rules, apiaries: Mapping[str, Apiary] = {}) -> None:
        self.pulls, self.rules = pulls, rules
        self._standing = apiaries
        self._apiaries = {pull.season: pull.apiary for pull in pulls}
        self._by_harvest = {pull.harvest.harvest: pull for pull in pulls}
        self._lots = {Subject(pull.season, pull.harvest.harvest, lot.id): lot for pull in pulls for lot in pull.harvest.lots}

    @cached_property
    def all(self) -> tuple[Subject, ...]:
        """Every lot, harvest, season and hive, seasons first."""
        found: dict[Subject, None] = {Subject(pull.season): None for pull in self.pulls}
        found |= {Subject(Subject(pull.season).year): None for pull in self.pulls}
        for pull in self.pulls:
            found[Subject(pull.season, pull.harvest.harvest)] = None
            found.update((Subject(pull.season, pull.harvest.harvest, lot.id), None) for lot in pull.harvest.lots)
        return (*found, *self._hives)

    @cached_property
    def _hives(self) -> dict[Subject, str]:
        """Each hive in each season by its name, where a card is for each: those that harvests name, and those of the apiary in the yard file."""
        if not any(HIVE in card.card.for_ for card in self.rules.cards):
            return {}
        found: dict[Subject, str] = {}
        for season, apiary in self._apiaries.items():
            named = {hive for pull in self.pulls if pull.season == season for hive in pull.harvest.hives}
            named |= {*self._standing[apiary].hives} if apiary is not None else set()
            for hive in sorted(named) or (EVERY_HIVE,):
                parts = (part if number == 1 else f"{part}-{number}" for part in [slug(hive) or HIVE] for number in numbers(1))
                found[next(one for part in parts if (one := Subject(season, hive=part)) not in found)] = hive
        return found

    def hive(self, subject: Subject) -> str:
        """The name of the hive that a subject is; empty for any other."""
        return self._hives.get(subject, "") if subject.hive else ""

    def unknown_hives(self) -> Iterator[tuple[LoadedCard, str]]:
        """Hives that a card names and neither a harvest nor the yard file does."""
        known = {*self._hives.values(), *(hive for one in self._standing.values() for hive in one.hives)}
        yield from ((card, hive) for card in self.rules.cards for hive in card.card.hives if hive not in known)

    def apiary(self, subject: Subject) -> str | None:
        """The apiary that a subject belongs to; None where the yard has one only, and for what all of them share."""
        return self._apiaries.get(subject.season)

    def pulls_of(self, subject: Subject) -> list[Pull]:
        """The pulls that a subject is about."""
        if subject.harvest:
            return [self._by_harvest[subject.harvest]]
        season = [pull for pull in self.pulls if subject.season in (pull.season, Subject(pull.season).year)]
        hive = self.hive(subject)
        return [pull for pull in season if hive in pull.harvest.hives] or season  # a hive that gave nothing has the dates of those beside it

    def stream(self, card: LoadedCard, subject: Subject) -> str | None:
        """The stream by which a card is about a subject, if it is."""
        if subject.lot:
            return self._kind_of(card, self._lots[subject])
        own = "harvest" if subject.harvest else HIVE if subject.hive else "yard"
        if own == HIVE and card.card.hives and self.hive(subject) not in card.card.hives:
            return None
        if own not in card.card.for_ or (own == "yard" and subject.season not in (self._apiaries if self.of_apiary(card) else self._years)):
            return None
        return own

    def _kind_of(self, card: LoadedCard, lot: Lot) -> str | None:
        """The kind of a lot, if a card is about it: by its kind, unless its product has no such work, or by its product."""
        return lot.kind if self.rules.products.is_for(card.card, card.key, lot.kind, lot.product) else None

    def key_for(self, key: str, subject: Subject) -> str:
        """The key of the card that is done of a subject where that of `key` is done of others: its product may have work of its own."""
        return self.rules.products.in_place_of(key, self._lots[subject].product) if subject.lot else key

    def at_hives(self, card: LoadedCard) -> bool:
        """Whether the work of a card, or of the step that it is a line of, is where the hives stand, or done before what was pulled leaves them."""
        step = self._step(card).card
        return step.place == "apiary" or step.where_pulled

    def of_apiary(self, card: LoadedCard) -> bool:
        """Whether a card for the yard is about each apiary, and not once about all of them."""
        return self._step(card).card.each_apiary or self.at_hives(card)

    def _step(self, card: LoadedCard) -> LoadedCard:
        """The card itself, or that of the step that it is a line of."""
        while card.alongside:
            card = self.rules.by_key[card.alongside]
        return card

    def of_each(self, happened: Happened) -> Happened:
        """What was recorded of work at the hives of the whole yard, before its apiaries were named: it is of each of them."""
        seasons = [season for season, apiary in self._apiaries.items() if apiary is not None]
        if not seasons:
            return happened
        slugs = {card_slug(card.name) for card in self.rules.cards if "yard" in card.card.for_ and self.of_apiary(card)}

        def spread(recorded: Mapping[str, R]) -> dict[str, R]:
            found = dict(recorded)
            for task, what in recorded.items():
                whole = [Subject(season) for season in seasons if Subject(Subject(season).year).path() == path_of(task)] if slug_of(task) in slugs else []
                for subject in whole:
                    found.setdefault(f"{subject.path()}/{last_part(task)}", what)
            return found

        return happened._replace(
            begun=spread(happened.begun), done=spread(happened.done), skipped=spread(happened.skipped), put_off=spread(happened.put_off),
        )  # fmt: skip

    def referred_to(self, card: LoadedCard, subject: Subject, across: str | None) -> Iterable[Subject]:
        """The subjects of another card that one of a subject refers to, from the same lot or hive outwards."""
        if HIVE in card.card.for_:
            return self._hives_of(subject)
        if "yard" in card.card.for_:
            if not self.of_apiary(card):
                return (Subject(subject.year),)
            own = subject.season in self._apiaries
            return [Subject(one) for one in self._apiaries if one == subject.season or (not own and Subject(one).year == subject.year)]
        if subject.harvest is None:
            own_pulls = {pull.harvest.harvest for pull in self.pulls_of(subject)} if subject.hive else None
            within = self._within.get((subject.season, None), [])
            return within if own_pulls is None else [one for one in within if one.harvest in own_pulls]
        if across == "season":
            return self._within.get((subject.year, None), [])
        if "harvest" in card.card.for_ and across is None:
            return (Subject(subject.season, subject.harvest),)
        if across == "harvest" or subject.lot is None:
            return self._within.get((subject.season, subject.harvest), [])
        return (subject,)

    def _hives_of(self, subject: Subject) -> Iterable[Subject]:
        """The hives that a subject is about: itself, those its harvest was pulled from, or every one of its season."""
        if subject.hive:
            return (subject,)
        of_season = [one for one in self._hives if subject.season in (one.season, one.year)]
        hives = self._by_harvest[subject.harvest].harvest.hives if subject.harvest else ()
        return [one for one in of_season if self._hives[one] in hives] if hives else of_season

    @cached_property
    def _years(self) -> frozenset[str]:
        return frozenset(Subject(season).year for season in self._apiaries)

    @cached_property
    def _within(self) -> dict[tuple[str, str | None], list[Subject]]:
        """Subjects by season, or year, and harvest (None: all of it)."""
        found: dict[tuple[str, str | None], list[Subject]] = {}
        for subject in self.all:
            for season in dict.fromkeys((subject.season, subject.year)):
                found.setdefault((season, None), []).append(subject)
            if subject.harvest:
                found.setdefault((subject.season, subject.harvest), []).append(subject)
        return found
