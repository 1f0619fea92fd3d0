"""Which tasks follow: cards laid over lots, harvests and the yard, with batches, repetitions and what waits for what."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import count as numbers
from typing import NamedTuple

from scheduler.diagnostics import LISTED, nearest
from scheduler.facts.harvest import BLENDED, COMB, EVERY_HIVE, UNNAMED
from scheduler.local_time import DAY, ceil_to_minute, floor_to_minute
from scheduler.planning.anchors import Moments
from scheduler.planning.batches import batch, comes_from, split
from scheduler.planning.card_tasks import Drafting
from scheduler.planning.context import OfHives, OfLots, equipment, names_by_subject
from scheduler.planning.draft import Draft, Pull, Subject, Want
from scheduler.planning.holds import estimated
from scheduler.planning.plan import Link, Reason, Warning
from scheduler.planning.problem import Problem
from scheduler.planning.pulls import more_comes, place_of
from scheduler.planning.stops import of_dead_colonies, reached_by_foulbrood
from scheduler.planning.subjects import Subjects
from scheduler.planning.task_ids import card_slug, number_of, path_of, repeated, slug_of, task_id
from scheduler.planning.treatments import Group, treatments_of
from scheduler.quantities import Statement, Words, instant, say
from scheduler.rules.amounts import Amount, amount, condition
from scheduler.rules.environment import Environment
from scheduler.rules.rule_set import LoadedCard
from scheduler.rules.short_forms import CardRelation

WAITED_FOR = 2 * DAY  # so long after a want it is still planned for [s]; assumed


class _Made(NamedTuple):
    """A draft as its card and subject alone make it: its links, reasons, refusal and minutes before those of other tasks are laid on."""

    draft: Draft
    links: tuple[Link, ...]
    reasons: tuple[Reason, ...]
    refusal: Statement | None
    begin: int
    end: int
    title: Words

    @classmethod
    def of(cls, draft: Draft) -> _Made:
        """What a draft is by itself."""
        return cls(draft, tuple(draft.links), tuple(draft.reasons), draft.refusal, draft.begin, draft.end, draft.title)

    def afresh(self) -> Draft:
        """The draft without what a run laid on it."""
        draft = self.draft
        draft.links, draft.reasons, draft.refusal, draft.held, draft.alongside = [*self.links], [*self.reasons], self.refusal, None, None
        draft.lapsed, draft.overtaken_by, draft.asked, draft.title = None, "", None, self.title
        draft.begin, draft.end = self.begin, self.end
        return draft


class Expansion:
    """The drafts of one yard's harvests, by card and subject, and what had to be told on the way."""

    def __init__(self, problem: Problem, pulls: Sequence[Pull], moments: Mapping[str | None, Moments]) -> None:
        self.yard, self.rules, self.pulls, self.moments = problem.yard, problem.rules, pulls, moments
        self.subjects = Subjects(pulls, problem.rules, problem.yard.apiaries)
        self.equipment = equipment(problem.yard)
        self.drafting = Drafting(problem, self.equipment, moments, self.subjects)
        self.failed: frozenset[tuple[str, Subject]] = frozenset()
        self.happened, self.in_force, self.ahead = problem.happened, problem.in_force, problem.ahead
        self._recorded = {*self.happened.begun, *self.happened.done, *self.happened.partly, *self.happened.worked}
        self.late: frozenset[tuple[str, Subject]] = frozenset()
        self.treatments = treatments_of(problem, pulls)
        self.of_hives = self._of_hives(problem)
        self._done, self._begun = (frozenset((slug_of(name), path_of(name)) for name in names) for names in (problem.happened.done, problem.happened.begun))
        reached = reached_by_foulbrood(pulls, self.rules, problem.happened)
        of_each = {subject: self.subjects.pulls_of(subject) for subject in self.subjects.all}
        treatment = {pull.season: self.treatments.names(pull.season, self.yard.units) for pull in pulls}
        self.met = frozenset(path for parents in problem.happened.parents.values() for path in parents)
        died = of_dead_colonies(pulls, problem.happened)
        of_lots = OfLots(reached, died, problem.happened.released, problem.happened.larvae, problem.happened.reckoned, self.met, problem.happened.queen_above)
        seasons = {subject: moments[self.subjects.apiary(subject)].season for subject in self.subjects.all}
        hives = {subject: self.subjects.hive(subject) for subject in self.subjects.all if subject.hive}
        self.contexts = names_by_subject(self.yard, self.rules.trade, seasons, of_each, self.of_hives, treatment, of_lots, problem.as_of, hives)
        self.drafts: dict[tuple[str, Subject], list[Draft]] = {}
        self._made: dict[tuple[str, Subject, tuple[tuple[int | None, float, int], ...]], tuple[_Made, ...]] = {}
        self._environments: dict[tuple[str, Subject], Environment] = {}
        self._wanted: dict[tuple[str, Subject], bool] = {}
        self._sizes: dict[tuple[str, Subject], dict[int, int]] = {}
        self._lags: dict[tuple[str, Subject, str], tuple[Amount, int | None]] = {}
        self.drafting.warnings += [*self._unused(), *self._unknown_hives()]

    def run(self, failed: frozenset[tuple[str, Subject]] = frozenset(), late: frozenset[tuple[str, Subject]] = frozenset()) -> list[Draft]:
        """Every draft, linked, in a fixed order; a card that `failed` for a subject gives way to the one that stands in for it, and one that is
        `late` gets the card beside it that is wanted then.

        What an earlier run worked out of a card and a subject is not worked out again: it follows from these two alone. Nor are its drafts
        made again: they are those of the last run from here on.
        """
        self.failed, self.late, self.drafts = failed, late, {}
        for card in self.rules.in_order:
            for subject in self.subjects.all:
                if self.subjects.stream(card, subject) and self._exists(card, subject):
                    self.drafts[card.key, subject] = [made.afresh() for made in self._make(card, subject)]
        for (key, subject), drafts in self.drafts.items():
            if self.rules.by_key[key].alongside:
                drafts[:] = self._lines(self.rules.by_key[key], subject, drafts)
        for (key, subject), drafts in self.drafts.items():
            self._link(self.rules.by_key[key], subject, drafts)
        for made, of in self.happened.parents.items():
            self._after_parents(made, of)
        return [draft for drafts in self.drafts.values() for draft in drafts]

    def _of_hives(self, problem: Problem) -> dict[str, OfHives]:
        """What is known of the hives of each harvest."""
        found = {}
        for pull in self.pulls:
            season = self.moments[pull.apiary].season
            last = place_of(pull, self.pulls, season, problem.zone).last
            then = any(not course.supers for course in self.treatments.at(pull.harvest, pull.pulled))
            more = more_comes(pull, self.pulls, season, problem.zone, problem.as_of)
            ahead = pull.harvest.harvest in self.ahead
            found[pull.harvest.harvest] = OfHives(last, self.treatments.keeps_off([pull.harvest]) is not None, then, more, ahead, *self._readied(pull))
        return found

    def _readied(self, pull: Pull) -> tuple[bool, bool]:
        """Whether honey room and freezer are made ready for another planned pull, which comes first within a day and needs as much."""
        order = {one.harvest.harvest: (one.pulled, number) for number, one in enumerate(self.pulls)}
        own, kinds = order[pull.harvest.harvest], {one.harvest.harvest: {lot.kind for lot in one.harvest.lots} for one in self.pulls}
        first = [name for name, at in order.items() if name in self.ahead and at < own and own[0] - at[0] < DAY]
        room = any("extracted" in kinds[name] or "extracted" not in kinds[pull.harvest.harvest] for name in first)
        return room, any(not kinds[name].isdisjoint(COMB) for name in first)

    def questions(self) -> Iterator[Warning]:
        """What the keeper is asked once."""
        if asked := self.treatments.unchosen([pull for pull in self.pulls if self.of_hives[pull.harvest.harvest].last]):
            yield asked

    def _unused(self) -> Iterator[Warning]:
        """Equipment that no card uses: most likely a slip of the pen."""
        kinds = {kind for card in self.rules.cards for kind in (*card.card.occupies, *card.card.uses)}
        for kind, found in self.equipment.items():
            if kind not in kinds:
                yield Warning("unused equipment", None, say("unused equipment", equipment=found[0].name, known=_one_of(kind, sorted(kinds))))

    def _unknown_hives(self) -> Iterator[Warning]:
        """A hive that a card names and nobody else: it comes for no hive then."""
        for card, hive in self.subjects.unknown_hives():
            known = sorted({one for pull in self.pulls for one in pull.harvest.hives})
            yield Warning("unknown hive", None, say("unknown hive", hive=hive, card=card.name, known=_one_of(hive, known)))

    def ids(self, card: LoadedCard) -> list[str]:
        """Every task that a card could have, whether or not it is to be done now."""
        return [made.draft.id for subject in self.subjects.all if self.subjects.stream(card, subject) for made in self._make(card, subject)]

    def _exists(self, card: LoadedCard, subject: Subject) -> bool:
        """Whether a card is to be done; what was done is in the plan whatever speaks against it, and what was begun is the way that was taken."""
        if self._is_in(self._done, card, subject):
            return True
        if card.is_before_pull and not card.card.pulls and self._pulled(subject) <= self.drafting.as_of:
            return False
        if not self._is_in(self._begun, card, subject):
            if subject.hive and self._is_dead(subject):
                return False
            if (card.key, subject) in self.failed or self._another_way_taken(card, subject):
                return False
            into_another = BLENDED in card.card.for_ and subject.path() in self.met  # what is left is done of the lot that it went into
            if into_another or (card.card.wanted and not self._wants(card, subject)):
                return False
            if card.where_late and (card.where_late, subject) not in self.late:
                return False
            if card.instead_of and self._targets(card.instead_of, subject, None):
                return False
            if any(not self._targets(key, subject, None) for key in (*card.with_, *([card.alongside] if card.alongside else ()))):
                return False
        return not card.card.when or self._is_wanted(card, subject, card.card.when)

    def _is_dead(self, subject: Subject) -> bool:
        """Whether the colony of a hive died, and no super came off the hive since: then another lives in it."""
        hive = self.subjects.hive(subject)
        since = self.happened.dead.get(hive)
        return since is not None and not any(pull.pulled > since and hive in pull.harvest.hives for pull in self.subjects.pulls_of(subject))

    def _is_in(self, recorded: frozenset[tuple[str, str]], card: LoadedCard, subject: Subject) -> bool:
        return bool(recorded) and (card_slug(card.name), subject.path()) in recorded  # most plans are made before anything was

    def _another_way_taken(self, card: LoadedCard, subject: Subject) -> bool:
        """Whether a card that stands in for this one was done or begun."""
        if card.key not in self.rules.has_alternative:
            return False
        recorded = self._done | self._begun
        return any(one.instead_of == card.key and self._is_in(recorded, one, subject) for one in self.rules.cards)

    def _is_wanted(self, card: LoadedCard, subject: Subject, when: str) -> bool:
        key = card.key, subject
        if key not in self._wanted:
            self._wanted[key] = condition(when, self._env(card, subject))
        return self._wanted[key]

    def _env(self, card: LoadedCard, subject: Subject) -> Environment:
        return self.names_of(card.set, subject)

    def names_of(self, of: str, subject: Subject) -> Environment:
        """What the expressions of a rule set see of a subject."""
        key = of, subject
        if key not in self._environments:
            self._environments[key] = self.rules.environment(of, self.contexts[subject])
        return self._environments[key]

    def _make(self, card: LoadedCard, subject: Subject) -> tuple[_Made, ...]:
        env = self._env(card, subject)
        batches = tuple(self._batches(card, subject, env))
        key = (card.key, subject, batches)
        if key not in self._made:
            drafts = list(self._drafted(card, subject, env, batches))
            self._made[key] = tuple(_Made.of(draft) for draft in drafts)
        return self._made[key]

    def _drafted(self, card: LoadedCard, subject: Subject, env: Environment, batches: Iterable[tuple[int | None, float, int]]) -> Iterator[Draft]:
        pulled, stream = self._pulled(subject), self.subjects.stream(card, subject) or ""
        wants = self._wants(card, subject) if card.card.wanted else {}
        for number, count, of in batches:
            inner = env.child(batch=batch(env, count, of)) if number is not None or card.card.wanted else env
            first = self.drafting.draft(card, subject, stream, pulled, inner, number, wants.get(number or 0))
            if self._is_ahead(subject) and not card.is_before_pull:
                first.provisional, first.alerts = say("pull ahead", at=instant(pulled)), ()
            if card.card.treats:
                self._name_hives(first, self.treatments.groups.get((card.key, subject.season), ()))
            if "bees" in card.card.brings_to:
                self._keep_off(first)
            yield first
            yield from self.drafting.repeats(first, pulled, env)

    def _name_hives(self, draft: Draft, groups: Iterable[Group]) -> None:
        """Say of which hives a treatment is; work on some of them takes its share of the time."""
        hives = self.treatments.hives(draft.subject.season)
        of = next((group.hives for group in groups if group.number == draft.batch), hives)
        if of != hives:
            draft.title = say("of some hives", title=draft.title, hives=", ".join(of))
            draft.begin, draft.end = (ceil_to_minute(hands * len(of) / len(hives)) for hands in (draft.begin, draft.end))
        if any(hive.startswith(f"{UNNAMED} ") for hive in hives) or EVERY_HIVE in hives:
            draft.reasons.append(Reason("hives", say("hives without names")))

    def _keep_off(self, draft: Draft) -> None:
        """No super and no wet frame goes onto a hive under a treatment or within its wait."""
        course = self.treatments.keeps_off(pull.harvest for pull in self.subjects.pulls_of(draft.subject))
        if course and draft.begun is None and course.free > draft.release:
            draft.release = course.free
            says = say("hive under treatment", hive=course.hive, begun=instant(course.begins), active=course.active or "not said", free=instant(course.free))
            draft.reasons.append(Reason("treatment", says))

    def _batches(self, card: LoadedCard, subject: Subject, env: Environment) -> list[tuple[int | None, float, int]]:
        """Batch number, count and how many batches there are; one unnumbered entry where the card is not split."""
        if card.card.treats:
            groups = self.treatments.groups.get((card.key, subject.season), ())
            return [(group.number, float(len(group.hives)), len(groups)) for group in groups] or [(None, 0.0, 1)]
        if card.card.wanted:
            wants = self._wants(card, subject)
            return [(number, float(want.units), len(wants)) for number, want in wants.items()] or [(None, env.names["lot"][card.card.wanted], 1)]
        batches = card.card.batches
        if batches is None:
            return [(None, 0.0, 1)]
        if card.batches_as:
            leaders = [draft for draft in self._targets(card.batches_as, subject, None) if draft.batch is not None and not draft.repetition]
            return [(draft.batch, draft.count, len(leaders)) for draft in leaders] or [(None, 0.0, 1)]
        key = card.key, subject
        if key not in self._sizes:
            total = round(amount(batches.of or "0", "count", env).value)
            fixed = self._recorded_batches(card, subject)
            sizes = split(max(0, total - sum(fixed.values())), card, env, self.equipment.get(batches.fits or "", ()))
            free = (number for number in numbers(1) if number not in fixed)
            self._sizes[key] = dict(sorted({**fixed, **dict(zip(free, sizes, strict=False))}.items()))
        sizes_of = self._sizes[key]
        return [(number, float(size), len(sizes_of)) for number, size in sizes_of.items()]

    def _wants(self, card: LoadedCard, subject: Subject) -> dict[int, Want]:
        """What is wanted of a lot by number; long over, only where something of it was recorded."""
        path, since = subject.path(), self.drafting.as_of - WAITED_FOR
        recorded = {number_of(name) for name in self._recorded if path_of(name) == path and slug_of(name) == card_slug(card.name)}
        found = [one for one in self.happened.wants if (one.lot, one.what) == (path, card.card.wanted)]
        return {one.number: one for one in found if one.by > since or one.number in recorded}

    def _recorded_batches(self, card: LoadedCard, subject: Subject) -> dict[int, int]:
        """The batches of which anything was recorded, with the units that the plan in force gave them: they keep both."""
        if self.in_force is None or not self._recorded:
            return {}
        slugs = {card_slug(one.name) for one in self.rules.cards if one is card or one.batches_as == card.key}
        touched = {number_of(name) for name in self._recorded if path_of(name) == subject.path() and slug_of(name) in slugs}
        counts = {number: self.in_force.counts.get(task_id(subject.path(), card.name, number)) for number in touched if number is not None}
        return {number: round(units) for number, units in counts.items() if units}

    def _is_ahead(self, subject: Subject) -> bool:
        """Whether the pull that its dates hang on is still to come, or nobody said that it was."""
        return any(pull.harvest.harvest in self.ahead and pull.pulled == self._pulled(subject) for pull in self.subjects.pulls_of(subject))

    def _pulled(self, subject: Subject) -> int:
        if subject.harvest:
            return self.subjects.pulls_of(subject)[0].pulled
        pulls = self.subjects.pulls_of(subject)
        last = [pull.pulled for pull in pulls if self.of_hives[pull.harvest.harvest].last]
        return max(last or [pull.pulled for pull in pulls])

    def _targets(self, key: str, subject: Subject, across: str | None) -> list[Draft]:
        """The drafts of another card that a subject's card refers to, from the same lot outwards."""
        own = self.subjects.referred_to(self.rules.by_key[key], subject, across)
        return [draft for one in own for draft in self.drafts.get((self.subjects.key_for(key, one), one), ())]

    def _of_parents(self, key: str, subject: Subject) -> list[Draft]:
        """The drafts of another card for the lots that met in this one."""
        of = [path.partition("/") for path in self.happened.parents.get(subject.path(), ())]
        parents = [one for one in self.subjects.all if one.lot and any((one.harvest, one.lot) == (harvest, lot) for harvest, _, lot in of)] if of else []
        return [draft for one in parents for draft in (self.drafts.get((key, one)) or self._of_parents(key, one))]

    def _lines(self, card: LoadedCard, subject: Subject, drafts: Sequence[Draft]) -> Iterator[Draft]:
        """
        The lines of checklists that a card's drafts are: of the batch of their number, or of the last there is; again with each repetition.

        Their minutes count in the step they belong to, before its hold or after it, until they are done.
        """
        happened, steps = self.happened, self._targets(card.alongside or "", subject, None)
        last = max((step.batch or 0 for step in steps), default=0)
        for draft in drafts:
            of = [step for step in steps if (step.batch or 0) == (draft.batch or last)] or steps[-1:]
            for step in of:
                line = draft if step.repetition is None else replace(draft, id=repeated(draft.id, step.repetition), repetition=step.repetition)
                line.alongside = step.id
                if line.id not in happened.done and line.id not in happened.skipped:
                    step.begin += line.begin if step.begun is None else 0
                    step.end += line.end
                yield line
            if not of:
                yield draft

    def _after_parents(self, made: str, of: Sequence[str]) -> None:
        """Nothing is done of a lot before the others are in it: what follows no work of its own or of theirs follows what the rest does."""
        drafts = [draft for (_, subject), found in self.drafts.items() if subject.path() == made for draft in found]
        own = {draft.id for draft in drafts}
        before = dict.fromkeys(link.task for draft in drafts for link in draft.links if path_of(link.task) in of)
        for draft in drafts:
            if draft.alongside is None and draft.repetition is None and not any(link.task in own or link.task in before for link in draft.links):
                draft.links += [Link(task) for task in before]

    def _steps(self, targets: Iterable[Draft]) -> list[Draft]:
        """Drafts with the step in place of each line of its checklist: nobody waits for a line alone."""
        found: dict[str, Draft] = {}
        for target in targets:
            step = (
                next((one for one in self._targets(target.card.alongside, target.subject, None) if one.id == target.alongside), target)
                if target.card.alongside
                else target
            )
            found[step.id] = step
        return list(found.values())

    def _link(self, card: LoadedCard, subject: Subject, drafts: list[Draft]) -> None:
        for key, relation in card.after.items():
            targets = self._steps(self._targets(key, subject, relation.across) or self._of_parents(key, subject))
            if not targets:
                continue
            lag, greatest = self._lag(card, subject, key, relation)
            least = ceil_to_minute(lag.value)
            early = least // 4 if card.card.repeat and card.card.repeat.every == relation.at_least else 0  # the first of a series may stay as others of it may
            last = self._last(targets)
            for draft in drafts:
                if draft.repetition is not None:
                    continue
                same = self._same_batches(card, key)
                follows = [target for target in last if target.batch == draft.batch] if same else comes_from(draft, drafts, last)
                draft.reasons += [estimated(name, estimate, card.place) for name, estimate in lag.estimates]
                draft.links += [Link(target.id, relation.relation, least, greatest, early) for target in follows or last]

    def _lag(self, card: LoadedCard, subject: Subject, other: str, relation: CardRelation) -> tuple[Amount, int | None]:
        """The least lag after another card and the greatest one [s]."""
        key = card.key, subject, other
        if key not in self._lags:
            env = self._env(card, subject)
            lag = amount(relation.at_least, "duration", env) if relation.at_least else Amount(0.0)
            self._lags[key] = lag, floor_to_minute(amount(relation.within, "duration", env).value) if relation.within else None
        return self._lags[key]

    def _same_batches(self, card: LoadedCard, key: str) -> bool:
        other = self.rules.by_key[key]
        if card.card.wanted or not card.batches_as:
            return card.card.wanted is not None and card.card.wanted == other.card.wanted
        return key == card.batches_as or (other.batches_as is not None and other.batches_as == card.batches_as)

    @staticmethod
    def _last(targets: list[Draft]) -> list[Draft]:
        """Of repeated tasks only the last of each."""
        latest: dict[tuple[str, Subject, int | None], Draft] = {}
        for draft in targets:
            latest[draft.card.key, draft.subject, draft.batch] = draft
        return list(latest.values())


def _one_of(word: str, known: Sequence[str]) -> Statement:
    """The known word that may have been meant, and the rest."""
    close, listed = nearest(word, known), ", ".join(known[:LISTED])
    return say("nearest of", word=close, known=listed) if close else say("one of", known=listed)
