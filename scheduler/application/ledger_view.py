"""From the facts of a ledger to what is planned: the yard with its readings, the harvests, the season as seen, what was done."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from functools import cached_property, lru_cache
from typing import TypeVar
from zoneinfo import ZoneInfo

from scheduler.application.as_of import AsOf, as_of
from scheduler.application.plan_files import rules_of
from scheduler.application.plan_in_force import READER, days_with_work, read, share_missed, terms, written
from scheduler.application.planned_pulls import Logged, as_told, read_as_logged
from scheduler.application.refusals import NoYard
from scheduler.application.season_evidence import agreed_surfaces, air_of, core_of, season_numbers, store_temperature
from scheduler.application.seen_season import SeenSeason
from scheduler.estimates.freezer_air import AirRecord
from scheduler.facts.fact import (
    CAUSES,
    Fact,
    HarvestLogged,
    HiveDied,
    HiveDisease,
    HiveTreatment,
    LarvaeSeen,
    LotReleased,
    LotsMet,
    Observed,
    QueenAbove,
    Reading,
    Recorded,
    SeriesRecorded,
    SettingChanged,
    TaskBegun,
    TaskDone,
    TaskFact,
    TaskPutOff,
    TaskSkipped,
    Wanted,
    YardSet,
    in_force,
)
from scheduler.facts.harvest import EVERY_HIVE, Harvest, lot_path
from scheduler.facts.season import Season
from scheduler.facts.yard import Yard, read_yard
from scheduler.ledger.alerts import SLACK as CLOCKS_DIFFER
from scheduler.ledger.store import Ledger
from scheduler.local_time import DAY
from scheduler.outputs.wording.sentence import METRIC, Reader, in_words
from scheduler.planning.blends import passed_on, with_blends
from scheduler.planning.draft import Happened, Treatment, Want
from scheduler.planning.odds import FUTURES, Odds
from scheduler.planning.plan import Plan
from scheduler.planning.planner import Planning, odds_of
from scheduler.planning.problem import Problem
from scheduler.planning.task_ids import card_slug, current, slug_of, subject_of
from scheduler.quantities import Statement
from scheduler.rules.rule_set import Rules

F = TypeVar("F", bound=Fact)
MOST_MISSED = 0.9  # of days: whoever recorded none of them says nothing of the next
HISTORY = 550 * DAY  # no card reaches further than the second spring after a pull: what was logged longer ago is history [s]; assumed
SLACK = 60 * DAY  # what became of a task is recorded after its pull, never long before [s]


class LedgerView:
    """What the facts of a ledger say at a moment [s since 1970]; worked out as it is asked for.

    `recorded` are the facts as they were written down, `facts` those of them that stand and have happened; `in_force_text` is the plan in force
    as it is kept, where there is one. Without `search` the plan says what tasks there are, and its times are those of a first glance. On a page
    words name no command; `page` says in which units it is read, "" for those of the yard.
    """

    def __init__(self, recorded: Iterable[Recorded], now: int, in_force_text: str | None = None, *, search: bool = True, page: str | None = None) -> None:
        self.now, self.recorded, self.in_force_text, self.search, self.page = now, tuple(recorded), in_force_text, search, page
        self.facts = tuple(one for one in in_force(self.recorded) if one.fact.occurred_at <= now or isinstance(one.fact, YardSet | HarvestLogged))

    def supposing(self, fact: Fact) -> LedgerView:
        """The same with one more fact."""
        after = max((one.sequence for one in self.recorded), default=0) + 1
        facts = (*self.recorded, Recorded(after, "0" * 32, self.now, fact))
        return LedgerView(facts, self.now, self.in_force_text, search=self.search, page=self.page)

    @cached_property
    def as_of(self) -> AsOf:
        """The moment that is planned for. Raises `Refused` where no yard was set."""
        return as_of(self.yard, self.recorded, self.now)

    @cached_property
    def plan(self) -> Plan:
        """The plan that follows from the facts; what would cure its missed limits is not sought."""
        return self.__dict__.get("plan_with_cures") or self._planned(cures=False, search=self.search)

    @cached_property
    def plan_with_cures(self) -> Plan:
        """The same plan, and what would cure its missed limits."""
        return self._planned(cures=True, search=True)

    def _planned(self, *, cures: bool, search: bool) -> Plan:
        self.planning = Planning(self.problem, cures=cures, search=search)
        return self.planning.plan()

    def odds(self, futures: int = FUTURES, *, causes: bool = True, help: bool = False) -> tuple[Odds, ...]:
        """How likely the limits of the plan are kept, over so many futures."""
        plan = self.plan
        return odds_of(self.planning, plan, futures, causes=causes, help=help)

    @cached_property
    def problem(self) -> Problem:
        """What is planned. Raises `Refused` where no yard was set."""
        before = read(self.in_force_text, self.rules.renamed, terms(self.recorded))
        seasons = {apiary: self.seen_at(apiary).season for apiary in self.yard.apiaries}
        moment, season, happened = self.as_of.moment, self.season, self.happened
        yard = self.yard if (missed := self.evenings_missed) is None else self.yard.model_copy(update={"evenings_missed": min(missed, MOST_MISSED)})
        return Problem(yard, self.rules, self.harvests, moment, season, happened, asks=True, in_force=before, seasons=seasons, ahead=self.ahead)

    @cached_property
    def evenings_missed(self) -> float | None:
        """The share of days with planned work on which nothing was recorded; None where the yard file says it, or too few are over."""
        if self.in_force_text is None or "evenings_missed" in self.yard_file.model_fields_set:
            return None
        planned = days_with_work(self.in_force_text, self.now, self.zone).days
        worked = [moment for one in self._of(TaskBegun) + self._of(TaskDone) for moment in (one.occurred_at, getattr(one, "started_at", None)) if moment]
        kept = {datetime.fromtimestamp(moment, self.zone).date() for moment in worked}
        return share_missed(planned, kept, datetime.fromtimestamp(self.now, self.zone).date())

    @cached_property
    def rules(self) -> Rules:
        """The rules in force for the yard."""
        return rules_of(self.yard)

    @cached_property
    def yard(self) -> Yard:
        """The yard file as last set, with the newest readings of its rooms and freezers in place of what the file says."""
        yard = self.yard_file
        readings = self._readings()
        agreed = agreed_surfaces(self._of(SettingChanged))
        measured = {name: {"temperature": readings[name, "freezer temperature"]} for name in yard.equipment if (name, "freezer temperature") in readings}
        equipment = {name: one.model_copy(update={**measured.get(name, {}), **agreed.get(name, {})}) for name, one in yard.equipment.items()}
        changed: dict[str, object] = {"equipment": equipment, "units": self.page or yard.units}
        for place in ("room", "store"):
            seen = {what.removeprefix(f"{place} "): value for (_, what), value in readings.items() if what.startswith(f"{place} ")}
            before = getattr(yard, place)
            if place == "store" and (logged := self._logged_store()) is not None:
                seen["temperature"] = logged
            if seen and before is not None:
                changed[place] = before.model_copy(update=seen)
        return yard.model_copy(update=changed)

    @property
    def yard_file(self) -> Yard:
        """The yard file as last set. Raises `Refused` where none was."""
        return yard_file(self._yard_text.text, self._yard_text.path)

    def _logged_store(self) -> float | None:
        """The store's temperature by its log [°C], where no single reading is newer."""
        found = store_temperature(self._of(SeriesRecorded), ZoneInfo(self.yard_file.place.timezone), self.now)
        read = max((one.occurred_at for one in self._of(Reading) if one.what == "store temperature"), default=0)
        return found[1] if found and found[0] >= read else None

    def words(self, statement: Statement) -> str:
        """A statement as the keeper of this yard reads it; in UTC while no yard is set."""
        return in_words(statement, Reader(self.yard.units, self.zone, self.page is not None) if self._of(YardSet) else METRIC)

    @property
    def zone(self) -> ZoneInfo:
        """The yard's time zone."""
        return ZoneInfo(self.yard.place.timezone)

    @cached_property
    def harvests(self) -> tuple[Harvest, ...]:
        """Every harvest as last logged and pulled, its lots with their newest readings."""
        return self._blended[0]

    @cached_property
    def parents(self) -> dict[str, tuple[str, ...]]:
        """The lots that met in a new one, by its path."""
        return self._blended[1]

    @cached_property
    def _blended(self) -> tuple[tuple[Harvest, ...], dict[str, tuple[str, ...]]]:
        readings = self._readings()
        harvests, parents = with_blends([_with_readings(one.harvest, readings) for one in self.logged], self.rules.trade, self._as_told(LotsMet))
        return tuple(_with_readings(one, readings) for one in harvests) if parents else harvests, parents

    @cached_property
    def ahead(self) -> dict[str, int]:
        """For when each harvest is planned of which nobody said yet that the supers are off [s since 1970]."""
        return {one.harvest.harvest: one.ahead for one in self.logged if one.ahead is not None}

    @cached_property
    def logged(self) -> list[Logged]:
        """Every harvest as last logged, with its text and what was told of its pull."""

        def read(text: HarvestLogged) -> Harvest:
            return read_as_logged(text, self.yard, self.rules, self._of(YardSet))

        return as_told(self.facts, self.as_of.moment - HISTORY, read, self.zone, self.rules)

    @property
    def season(self) -> Season:
        """The yard's season: what was seen first, then what the keeper's own tables say, then the normals."""
        return self.seen_at(None).season

    @property
    def evidence(self) -> dict[str, list[str]]:
        """What the marks of the season rest on besides the yard file, and how sure that is, in words."""
        return self.seen_at(None).evidence

    def seen_at(self, apiary: str | None) -> SeenSeason:
        """The season as it is known at an apiary; the yard's for None."""
        return self._seen_at[apiary]

    @cached_property
    def _seen_at(self) -> dict[str | None, SeenSeason]:
        observed, series = self._of(Observed), self._of(SeriesRecorded)
        numbers, today = season_numbers(self.rules), datetime.fromtimestamp(self.as_of.moment, self.zone).date()
        return {name: SeenSeason(self.yard, name, observed, series, numbers, self.zone, today) for name in (None, *self.yard.apiaries)}

    @cached_property
    def happened(self) -> Happened:
        """What became of tasks. The last word on a task counts; done in part adds up; a card that was renamed keeps its tasks."""
        done: dict[str, tuple[int, int]] = {}
        begun: dict[str, int] = {}
        partly: dict[str, float] = {}
        worked: dict[str, int] = {}
        skipped: dict[str, tuple[int, str]] = {}
        put_off: dict[str, int] = {}
        for one in self._as_told(TaskFact):
            task = current(one.task, self.rules.renamed)
            if isinstance(one, TaskDone) and one.amount is not None:
                partly[task] = partly.get(task, 0.0) + one.amount
            elif isinstance(one, TaskDone) and one.worked is not None:
                worked[task] = worked.get(task, 0) + one.worked
            elif isinstance(one, TaskDone):
                done[task] = (one.started_at if one.started_at is not None else begun.get(task, one.occurred_at), one.occurred_at)
                skipped.pop(task, None)
            elif isinstance(one, TaskBegun):
                begun[task] = one.occurred_at
            elif isinstance(one, TaskSkipped):
                skipped[task] = (one.occurred_at, one.because)
                done.pop(task, None)
            elif isinstance(one, TaskPutOff):
                put_off[task] = one.until
        return Happened(
            begun=begun,
            partly=partly,
            worked=worked,
            done=done,
            skipped=skipped,
            put_off=put_off,
            air=self.air,
            core=core_of(self._of(Reading)),
            foulbrood=self.foulbrood,
            died=self.died,
            dead={one.hive: one.occurred_at for one in self._of(HiveDied)},
            queen_above=self.queen_above,
            treatments=self.treatments,
            released={one.lot: (one.occurred_at, one.because) for one in self._of(LotReleased)},
            wants=passed_on((Want(one.lot, one.what, one.number, one.count, one.until) for one in self._of(Wanted)), self.parents),
            parents=self.parents,
            reckoned=frozenset(path for path in self.parents if (path, "moisture") not in self._readings()),
            larvae={one.lot: "seen" if one.seen else "over" for one in self._of(LarvaeSeen)},
        )

    @cached_property
    def foulbrood(self) -> dict[str, int]:
        """The hives in which foulbrood is suspected, and since when; one that was not confirmed is out."""
        found: dict[str, int] = {}
        for one in self._of(HiveDisease):
            if one.suspected:
                found.setdefault(one.hive, one.occurred_at)
            else:
                found.pop(one.hive, None)
        return found

    @cached_property
    def died(self) -> dict[str, int]:
        """The hives whose colony died of what may be in the comb, or of nobody knows what, and since when; the last word on a hive counts."""
        last = {one.hive: one for one in self._as_told(HiveDied)}
        return {hive: one.occurred_at for hive, one in last.items() if one.cause is None or not CAUSES.get(one.cause, False)}

    @cached_property
    def queen_above(self) -> dict[str, tuple[str, ...]]:
        """By harvest, the hives in whose supers brood or the queen was seen."""
        found: dict[str, dict[str, None]] = {}
        for one in self._of(QueenAbove):
            found.setdefault(one.harvest, {})[one.hive] = None
        return {harvest: tuple(hives) for harvest, hives in found.items()}

    @cached_property
    def treatments(self) -> tuple[Treatment, ...]:
        """Every treatment in order of its beginning; an end closes the last one of its hive that is open, an end for all closes every open one.

        A hive may end by itself what was begun of every hive.
        """
        found: list[Treatment] = []
        for one in self._of(HiveTreatment):
            if one.begins:
                found.append(Treatment(one.hive, one.occurred_at, None, one.active))
                continue
            for i in reversed(range(len(found))):
                if found[i].ends is None and found[i].hive == EVERY_HIVE != one.hive and one.hive not in dict(found[i].ended):
                    found[i] = found[i]._replace(ended=(*found[i].ended, (one.hive, one.occurred_at)))
                    break
                if found[i].ends is None and (one.hive == EVERY_HIVE or found[i].hive == one.hive):
                    found[i] = found[i]._replace(ends=one.occurred_at)
                    if one.hive != EVERY_HIVE:
                        break
        return tuple(found)

    def under_treatment(self, hive: str, at: int) -> bool:
        """Whether a treatment of a hive, or with "all" of any, is open at a moment [s since 1970]."""
        return any(
            one.begins <= at and (one.ends is None or one.ends > at) and (EVERY_HIVE in (one.hive, hive) or one.hive == hive) and hive not in dict(one.ended)
            for one in self.treatments
        )

    @property
    def unplanned(self) -> tuple[TaskFact, ...]:
        """The last word on each task that the plan does not hold, its card gone or what was begun not asked for any more; oldest first.

        Only of harvests and seasons that are still in the plan.
        """
        cards, gone = {card_slug(card.name) for card in self.rules.cards}, {card_slug(name) for name in self.rules.gone}
        planned = {task.id for task in self.plan.tasks}
        subjects = {subject_of(task.id) for task in self.plan.tasks}
        last: dict[str, TaskFact] = {}
        for fact in self._of(TaskFact):
            task = current(fact.task, self.rules.renamed)
            lost = slug_of(task) not in cards or (task not in planned and isinstance(fact, TaskDone | TaskBegun))
            if lost and slug_of(task) not in gone and subject_of(task) in subjects:
                last[task] = fact
        return tuple(sorted(last.values(), key=lambda fact: (fact.occurred_at, fact.task)))

    @cached_property
    def air(self) -> dict[str, AirRecord]:
        """What was recorded of the air of each freezer, by its logs and by single readings."""
        return air_of(list(self.yard.freezers), self._of(SeriesRecorded), self._of(Reading), self.zone)

    @cached_property
    def _yard_text(self) -> YardSet:
        found = self._of(YardSet)
        if not found:
            raise NoYard
        return found[-1]

    def _readings(self) -> dict[tuple[str, str], float]:
        """The newest value by what was read and what of."""
        return {(one.of, one.what): one.value for one in self._of(Reading)}

    def _as_told(self, kind: type[F]) -> list[F]:
        """In the order in which they were written down: the last word counts, also where it is about an earlier moment."""
        return [one.fact for one in sorted(self.facts, key=lambda one: one.sequence) if isinstance(one.fact, kind)]

    def _of(self, kind: type[F]) -> list[F]:
        return [one.fact for one in self.facts if isinstance(one.fact, kind)]


def view_at(ledger: Ledger, now: int, *, search: bool = True, page: str | None = None) -> LedgerView:
    """What the ledger says at a moment [s since 1970]; without `search` for who asks only what tasks there are."""
    return LedgerView(ledger.facts(tasks_since=now - HISTORY - SLACK), now, _in_force(ledger, now), search=search, page=page)


def whole_view(ledger: Ledger, now: int, page: str | None = None) -> LedgerView:
    """The same with everything that ever became of tasks, for what is published."""
    return LedgerView(ledger.facts(), now, _in_force(ledger, now), page=page)


def keep_in_force(ledger: Ledger, view: LedgerView) -> None:
    """Keep the plan of a view as the one in force; nothing is written where it is kept already."""
    text = written(view.plan, terms(view.recorded), days_with_work(view.in_force_text, view.now, view.zone))
    if text != view.in_force_text:
        ledger.outgoing.see(READER, view.now, text)


def _in_force(ledger: Ledger, now: int) -> str | None:
    """The plan that was kept last; one of a time still to come is of a clock that was ahead."""
    kept = ledger.outgoing.last_seen(READER)
    return kept[1] if kept is not None and kept[0] <= now + CLOCKS_DIFFER else None


@lru_cache(maxsize=4)
def yard_file(text: str, path: str) -> Yard:
    """A yard file as it was set: a watch and a feed ask for the same one after every fact."""
    return read_yard(text.encode(), path)


def _with_readings(harvest: Harvest, readings: dict[tuple[str, str], float]) -> Harvest:
    lots = []
    for lot in harvest.lots:
        of = lot_path(harvest.harvest, lot.id)
        seen = {
            field: readings[of, what]
            for what, field in (("moisture", "moisture"), ("yeast", "yeast"), ("comb temperature", "comb_temperature"))
            if (of, what) in readings
        }
        lots.append(lot.model_copy(update=seen) if seen else lot)
    return harvest.model_copy(update={"lots": tuple(lots)})
