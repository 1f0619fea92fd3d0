"""(yard, rules, facts, as-of time) -> plan. Pure: the same input gives the same plan, byte for byte."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from functools import partial
from hashlib import sha256
from itertools import product

from scheduler.facts.season import DEARTH
from scheduler.local_time import ceil_to_minute
from scheduler.planning.anchors import Moments
from scheduler.planning.cures import ToCure, cures, late_tasks
from scheduler.planning.draft import Draft, Subject, before_all
from scheduler.planning.draft_network import calendar_of, network_of
from scheduler.planning.expand import Expansion
from scheduler.planning.explain import answer, sun_tied
from scheduler.planning.freezer_separation import Planned, kept_apart, told
from scheduler.planning.freezer_warnings import freezer_warnings
from scheduler.planning.gathering import WorkAt, gathered
from scheduler.planning.incumbent import placed_anew, replan
from scheduler.planning.lapses import lapse
from scheduler.planning.local_search import late_whatever_the_order, schedule
from scheduler.planning.network import Network, Placement, violations
from scheduler.planning.objective import cost_of
from scheduler.planning.odds import FUTURES, Lasting, Model, Odds, odds
from scheduler.planning.odds_help import with_help
from scheduler.planning.other_ways import OtherWays, to_mind
from scheduler.planning.plan import Plan, Reason, Stopped, Warning
from scheduler.planning.priority import Priorities, priorities_of
from scheduler.planning.problem import Problem
from scheduler.planning.pulls import of_no_apiary, pulls_of, pulls_to_tell, wait_for_pull
from scheduler.planning.stops import hold_back, withhold_followers
from scheduler.planning.subjects import Subjects
from scheduler.planning.treatments import treatments_of
from scheduler.planning.unanswered import Times, question, unanswered
from scheduler.planning.unrecorded import begin_by_themselves, reached, under_way
from scheduler.planning.windows import Windows
from scheduler.quantities import Quantity, Statement, say
from scheduler.rules.rule_set import LoadedCard
from scheduler.rules.schema import handled
from scheduler.rules.spoken_names import reads

STEPS_IN = 2  # cards that the keeper is tried at, one by one; assumed
GLANCE = 0.05  # of the search is spent on a change that is only looked at; assumed
AGAIN = 0.2  # of the search, where drafts were searched already and a few of them changed since; assumed
AHEAD = timedelta(days=1100)  # calendars are worked out no further than this after the last pull
INDOORS = ("honey room", "store", "anywhere")
WARNED = frozenset({"not placed", "after its deadline", "lag too long"})  # violations that a plan may have, with a warning that says by how much


def plan(problem: Problem, *, cures: bool = True, search: bool = True) -> Plan:
    """The whole answer for a keeper: schedule, warnings, reasons. Where a plan is in force, it is repaired.

    Without `cures`, which take longer than the plan, warnings do not say what would help. Without `search` the times are those of a first
    glance: enough for what tasks there are and what they wait for, and never to be shown.
    """
    return Planning(problem, cures=cures, search=search).plan()


def plan_with_odds(
    problem: Problem, futures: int = FUTURES, *, cures: bool = True, causes: bool = True, seed: str | None = None, help: bool = False
) -> tuple[Plan, tuple[Odds, ...]]:
    """The whole answer, and how likely its limits are kept, with the `causes` of a miss, and what would `help` the least likely.

    The `seed` is of the plan, so that the same plan gives the same words; plans that are compared are given one for all.
    """
    planning = Planning(problem, cures=cures)
    found = planning.plan()
    return found, odds_of(planning, found, futures, causes=causes, seed=seed, help=help)


def odds_of(planning: Planning, found: Plan, futures: int = FUTURES, *, causes: bool = True, seed: str | None = None, help: bool = False) -> tuple[Odds, ...]:
    """How likely the limits of a plan are kept that this planning found."""
    if planning.scheduled is None:
        return ()
    model, own = judging(planning, found)
    seed = own if seed is None else seed
    likely = odds(model, futures=futures, seed=seed, causes=causes)
    if help:
        fewer = -(-futures // 2)
        likely = with_help(planning.given, (found, likely), lambda changed: plan_with_odds(changed, fewer, cures=False, causes=False, seed=seed))
    return likely


def judging(planning: Planning, found: Plan) -> tuple[Model, str]:
    """What the odds of a plan are sampled from, and its own seed: of the same plan the same. Raises ValueError before anything was planned."""
    if planning.scheduled is None:
        raise ValueError("nothing was planned yet")
    network, placed = planning.scheduled
    own = sha256(repr(sorted((name, at.start, at.finish) for name, at in placed.items())).encode()).hexdigest()
    outside = {task.id for task in found.tasks if task.place not in INDOORS}
    pulling = {task.harvest: task for task in found.tasks if planning.given.rules.by_key[task.rule].card.pulls and task.is_open}
    pulls = {task.id: pull.id for task in found.tasks if (pull := pulling.get(task.harvest)) and (task is pull or task.start >= pull.finish)}
    missed = planning.problem.yard.evenings_missed
    by_mode = {draft.id: [_lasting(reasons) for reasons in draft.holds] for draft in planning.drafts}
    lasting = {name: modes for name, modes in by_mode.items() if any(modes)}
    return Model(network, placed, planning.problem.as_of, planning.zone, outside, pulls=pulls, missed=missed, lasting=lasting), own


def _lasting(reasons: Sequence[Reason]) -> Lasting | None:
    """How long a hold lasts by its estimate; None where it has none, or several."""
    said = [dict(reason.says.values) for reason in reasons if reason.says.kind == "estimated"]
    if len(said) != 1 or said[0]["value"].dimension != "duration":
        return None
    low, mode, high = (float(said[0][name].value) for name in ("low", "value", "high"))
    return low, min(max(mode, low), high), high


def possible_ids(problem: Problem, cards: Iterable[LoadedCard]) -> list[str]:
    """Every task that these cards could have for the harvests and seasons of a problem, also where the plan does not hold it just now."""
    planning = Planning(problem)
    expansion = Expansion(planning.problem, planning.pulls, planning.moments)
    expansion.run()
    return [name for card in cards for name in expansion.ids(card)]


class Unwanted(Exception):
    """Nobody waits for what is being worked out."""


class Planning:
    """One planning of a problem, with the steps a what-if needs again. The search for cures ends with `Unwanted` once they are not `wanted` any more."""

    def __init__(self, problem: Problem, *, cures: bool = True, search: bool = True, wanted: Callable[[], bool] = lambda: True) -> None:
        self.given, self.cures, self.search, self.wanted = problem, cures, search, wanted
        self.problem = problem = problem.on_whole_minutes()
        yard = problem.yard
        self.zone = problem.zone
        self.pulls = pulls_of(problem)
        problem = problem._replace(happened=Subjects(self.pulls, problem.rules).of_each(problem.happened))
        self.problem = problem = problem._replace(happened=treatments_of(problem, self.pulls).happened(problem.happened))
        moments = [problem.as_of, *(pull.pulled for pull in self.pulls)]
        days = [datetime.fromtimestamp(moment, self.zone).date() for moment in (min(moments), max(moments))]
        self.windows = Windows(yard, problem.season, days[0] - timedelta(days=2), days[1] + AHEAD, problem.season_at)
        self.moments = {apiary: Moments(problem.season_at(apiary), self.zone, problem.as_of) for apiary in (None, *yard.apiaries)}
        self.asked: Times = {}
        self.scheduled: tuple[Network, Mapping[str, Placement]] | None = None  # what the answer was made of
        self.schedules = 0  # how many were made
        self.drafts: Sequence[Draft] = ()
        self.priorities: Priorities | None = None  # of the network scheduled last, so that the next is worked out only where it differs

    def plan(self) -> Plan:
        """Expand, place, take the other way where a chosen one cannot be met, and answer."""
        failed: frozenset[tuple[str, Subject]] = frozenset()
        late: frozenset[tuple[str, Subject]] = frozenset()
        ways = OtherWays(self.problem, self.windows)
        expansion = Expansion(self.problem, self.pulls, self.moments)
        while True:
            drafts = expansion.run(failed, late)
            wait_for_pull(drafts, self.problem.ahead)
            stops = hold_back(drafts, self.problem.rules, self.problem.happened, expansion.names_of)
            lapse(drafts, self.problem, self._opens)
            withhold_followers(drafts, self.problem.happened)
            self._ask(drafts)
            self.problem = reached(self.problem, drafts)
            begin_by_themselves(drafts, self.problem)
            under_way(drafts, self.problem)
            planned = self._searched(drafts)
            drafts = planned.drafts
            more = self._failing(drafts, planned.placed) - failed
            behind = ways.late(drafts, planned.placed) - late
            if not more and not behind:
                planned = self._without_followers(self._stepped_in(planned))
                apart = kept_apart(planned, self.problem, self._again, partial(self._met, failed))
                for draft, beside in told(apart, self.problem):
                    draft.reasons.append(beside)
                drafts, network, placed, priorities = self._gathered(self._until_their_end(apart))
                self.scheduled, self.drafts = (network, placed), drafts
                ways.tell(drafts, placed)
                cured = self._cured(drafts, network, placed, priorities, stops)
                warnings = [
                    *question(self.asked),
                    *old_words(self.problem),
                    *season_not_set(self.problem),
                    *pulls_to_tell(self.problem),
                    *of_no_apiary(self.problem),
                    *expansion.questions(),
                    *freezer_warnings(self.problem, drafts, placed),
                ]
                warnings += expansion.drafting.warnings
                warnings += [*self._without_sun(drafts, placed), *to_mind(self.problem, drafts, placed, expansion.names_of), *unexpected(network, placed)]
                return answer(self.problem, drafts, network, placed, warnings, cured, stops)
            ways.gave_way(drafts, more, planned.placed)
            failed, late = failed | more, late | behind

    def _cured(
        self, drafts: Sequence[Draft], network: Network, placed: Mapping[str, Placement], priorities: Priorities, stops: Sequence[Stopped]
    ) -> dict[str, list[Statement]] | None:
        """What would cure each limit that is missed; None where that is not asked for."""
        if not self.cures:
            return None
        if not late_tasks(network, placed, self.problem.as_of):
            return {}
        so_far = answer(self.problem, drafts, network, placed, (), {}, stops)
        found = ToCure(drafts, network, placed, priorities, so_far)

        def planned(problem: Problem, full: bool) -> tuple[Plan, int]:
            if not self.wanted():
                raise Unwanted
            planning = Planning(problem, cures=False, search=full)
            return planning.plan(), planning.schedules

        return cures(self.given, found, planned)

    def _as_of(self, at: int) -> Plan:
        """What would have been planned at an earlier moment, at a glance."""
        return Planning(self.problem._replace(as_of=at, asks=False, in_force=None), cures=False, search=False).plan()

    def _ask(self, drafts: Sequence[Draft]) -> None:
        """Count what is weeks past any sense as over when it was planned to be, so that it takes no hours and nothing waits for it."""
        self.asked = self.asked or unanswered(drafts, self.problem, self.pulls, self._as_of)
        for draft in drafts:
            draft.asked = self.asked.get(draft.id)
        over = {name: (finish, "") for name, (_, finish) in self.asked.items()}
        self.problem = self.problem._replace(happened=self.problem.happened._replace(skipped={**self.problem.happened.skipped, **over}))

    def _searched(self, drafts: list[Draft]) -> Planned:
        """The schedule of drafts. Where somebody would be late in every one and nothing is with the keeper in their place, the late one is not searched."""
        network = self.network(drafts) if self.problem.yard.people and not self.problem.in_force else None
        if network is not None and late_whatever_the_order(network, priorities_of(network, self.priorities)):
            stepped_in = self._stepped_in(self._scheduled(drafts, GLANCE))
            if len(stepped_in.placed) == len(stepped_in.network.tasks) and not cost_of(stepped_in.network, stepped_in.placed).lateness:
                return stepped_in
        return self._scheduled(drafts)

    def _again(self, drafts: list[Draft]) -> Planned:
        """The schedule of drafts that hardly differ from those searched in full: a part of that search finds what there is to find."""
        return self._scheduled(drafts, AGAIN)

    def _scheduled(self, drafts: list[Draft], effort: float = 1.0) -> Planned:
        """The drafts as a network, and its schedule: from the plan in force, where there is one."""
        network, before = self.network(drafts), self.problem.in_force
        self.schedules += 1
        self.priorities = priorities_of(network, self.priorities)
        if before:
            placed = replan(network, self.priorities, before, self.problem.as_of, search=self.search)
        else:
            placed = schedule(network, priorities=self.priorities, effort=effort if self.search else GLANCE)
        return Planned(drafts, network, placed, self.priorities)

    def _stepped_in(self, planned: Planned) -> Planned:
        """The keeper joins somebody, or does in their place what they take, where less comes too late or never then: of one card, else of all before it."""
        if not self.problem.yard.people:
            return planned
        without_time = (task.id for task in planned.network.tasks if task.id not in planned.placed)
        late = [*late_tasks(planned.network, planned.placed, self.problem.as_of), *without_time]
        if not late:
            return planned
        before = chain_before(planned.network, late)
        given = [draft for draft in planned.drafts if draft.id in before and draft.person and not draft.bound and draft.begun is None]
        cards = list(dict.fromkeys(draft.card.key for draft in given if not self._happened(draft.id)))
        best, least = planned, cost_of(planned.network, planned.placed).limits()
        groups = [*((key,) for key in cards[:STEPS_IN]), *([tuple(cards)] if len(cards) > 1 else [])]
        for keys, otherwise in product(groups, (_together, _by_the_keeper)):
            names = {draft.id for draft in given if draft.card.key in keys and (otherwise is not _together or draft.shared)}
            if not names:
                continue
            tried = self._again([otherwise(draft) if draft.id in names else draft for draft in planned.drafts])
            if (cost := cost_of(tried.network, tried.placed).limits()) < least:
                best, least = tried, cost
        return best

    def _until_their_end(self, planned: Planned) -> Planned:
        """Without repetitions that could only start after their end; what follows one of them follows the last that is left."""
        placed = planned.placed
        over = [one for one in planned.drafts if one.until is not None and one.id in placed and placed[one.id].start > one.until]
        fallen = {one.id: one for one in over if not self._happened(one.id)}
        left = [draft for draft in planned.drafts if draft.id not in fallen]
        followers = [draft for draft in left if any(link.task in fallen for link in draft.links)]
        for draft in followers:
            draft.links = [before_all(link, fallen) for link in draft.links]
        if not followers:
            return planned._replace(drafts=left)
        network = self.network(left)
        self.priorities = priorities_of(network, self.priorities)
        return Planned(left, network, placed_anew(network, self.priorities, placed, [one.id for one in followers]), self.priorities)

    def _gathered(self, planned: Planned) -> Planned:
        """The schedule in fewer sittings; what the plan in force has stays, and nothing is changed in a plan at a glance."""
        if not self.search:
            return planned
        yard, kept = self.problem.yard, self.problem.in_force.tasks if self.problem.in_force else ()
        work = {one.id: WorkAt(one.place, yard.travel(one.at), handled(one.card.card), sun_tied(one)) for one in planned.drafts}
        return planned._replace(placed=gathered(planned.network, planned.priorities, planned.placed, work, self.problem.as_of, kept))

    def _without_followers(self, planned: Planned) -> Planned:
        """The schedule without what found no time and all that follows it: nothing is done before what it waits for."""
        drafts = planned.drafts
        while unplaced := [draft for draft in drafts if draft.has_time and draft.id not in planned.placed]:
            for draft in unplaced:
                draft.refusal = say("no time fits")
            withhold_followers(drafts, self.problem.happened)
            planned = self._again(drafts)
        return planned

    def _without_sun(self, drafts: Sequence[Draft], placed: Mapping[str, Placement]) -> Iterator[Warning]:
        """Say once for each card where it hangs on an event of the sun that does not come that day: high in the north nights stay light."""
        told: set[str] = set()
        for draft in drafts:
            suns = [window.sun for window in draft.open_begin if window.sun]
            if not suns or draft.id not in placed or draft.card.key in told or self._happened(draft.id):
                continue
            day, event = datetime.fromtimestamp(placed[draft.id].start, self.zone).date(), suns[0][0]
            taken = self.windows.of(draft.at).stand_in(day, event)
            if taken is not None:
                told.add(draft.card.key)
                yield Warning("no event of the sun", draft.id, say("no event of the sun", title=draft.title, event=event, day=day, taken=taken))

    def _happened(self, task: str) -> bool:
        """Whether something that can no longer be otherwise is recorded of a task."""
        return task in self.problem.happened.done or task in self.problem.happened.begun

    def network(self, drafts: Sequence[Draft]) -> Network:
        """The drafts that can be done, as a problem for the schedule."""
        return network_of(drafts, self.problem, self.windows, self.pulls)

    def _met(self, failed: frozenset[tuple[str, Subject]], drafts: Sequence[Draft], placed: Mapping[str, Placement]) -> bool:
        """Whether no card has to give way to another besides those that `failed`."""
        return self._failing(drafts, placed) <= failed

    def _opens(self, draft: Draft, after: int) -> int | None:
        """When the hours and windows of a draft are open at a moment, or next after it; None where they are not again."""
        name = calendar_of(draft, draft.open_begin, self.windows)
        if name is None:
            return after
        calendar = self.windows.calendars[name]
        number = calendar.index(after)
        return max(after, calendar.starts[number]) if calendar.has(number) else None

    def _failing(self, drafts: Sequence[Draft], placed: Mapping[str, Placement]) -> frozenset[tuple[str, Subject]]:
        """Cards with another way that have no time, or none before their deadline."""
        return frozenset(
            (draft.card.key, draft.subject)
            for draft in drafts
            if draft.card.key in self.problem.rules.has_alternative
            and (
                draft.held is None
                if draft.id not in placed
                else draft.deadline is not None and placed[draft.id].finish > draft.deadline and not self._happened(draft.id)
            )
        )


def _together(draft: Draft) -> Draft:
    """A draft that who takes it and the keeper do at the same time."""
    share = draft.shared or 1.0
    begin, end = (ceil_to_minute(length * share) if length else 0 for length in (draft.begin, draft.end))
    told = Reason("person", say("keeper joins", person=draft.person, share=Quantity(share, "share")), draft.card.place)
    return replace(draft, together=True, begin=begin, end=end, work=(begin, end), reasons=_told_instead(draft, told))


def _by_the_keeper(draft: Draft) -> Draft:
    """A draft that the keeper does in place of who may."""
    told = Reason("person", say("keeper steps in", person=draft.person), draft.card.place)
    return replace(draft, person=None, reasons=_told_instead(draft, told))


def _told_instead(draft: Draft, told: Reason) -> list[Reason]:
    """The reasons of a draft, with another word about whose work it is."""
    return [*(one for one in draft.reasons if one.says.kind != "taken by"), told]


def chain_before(network: Network, names: Iterable[str]) -> frozenset[str]:
    """Tasks and all that they wait for."""
    before: dict[str, list[str]] = {}
    for relation in network.precedences:
        before.setdefault(relation.after, []).append(relation.before)
    found, stack = set(names), list(names)
    while stack:
        for name in before.get(stack.pop(), ()):
            if name not in found:
                found.add(name)
                stack.append(name)
    return frozenset(found)


def old_words(problem: Problem) -> list[Warning]:
    """What in the keeper's files is called otherwise now, with its place: read this once more, and not in the next version."""
    files = (problem.yard.old_words, *(one.old_words for one in problem.harvests), problem.rules.old_words)
    found = dict.fromkeys(old for file in files for old in file)
    return [Warning("old word", None, say("old word", at=f"{old.path}:{old.line}:{old.column}", message=old.message, write=old.write)) for old in found]


def season_not_set(problem: Problem) -> list[Warning]:
    """What is left out because the yard does not say when bees rob, which every pull risks. "robbing: none" says that they do not, and is no gap."""
    season = problem.season
    if not problem.harvests or season.knows(DEARTH) or DEARTH in season.model_fields_set:
        return []
    left_out = [card.name for card in problem.rules.cards if card.card.when and reads(card.card.when, "season", DEARTH)]
    return [Warning("season not set", None, say("season not set", span=DEARTH, cards=", ".join(left_out)))] if left_out else []


def unexpected(network: Network, placed: Mapping[str, Placement]) -> list[Warning]:
    """What the verifier finds besides the limits that are told anyway: a fault of this program, said rather than published in silence."""
    found = [one for one in violations(network, placed) if one.kind not in WARNED]
    return [Warning("fault", None, say("fault", violation=one)) for one in found[:5]]
