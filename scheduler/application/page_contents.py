"""What the pages show of a ledger: plain values for templates. The plan is made once, and stands until something recorded, or an evening, moves it."""

from __future__ import annotations

import logging
import threading
from collections import Counter
from collections.abc import Callable, Collection
from copy import copy
from datetime import date, datetime
from functools import cached_property, partial
from typing import Any

from scheduler.application import tell_tasks
from scheduler.application.as_planned import all_at_once
from scheduler.application.behind_picture import behind
from scheduler.application.days_asked import DaysAsked, likes
from scheduler.application.harvest_form import harvest_values
from scheduler.application.hive_facts import named_hives
from scheduler.application.instrument_pictures import freezer_shown, season_shown
from scheduler.application.ledger_view import LedgerView, keep_in_force, view_at, whole_view
from scheduler.application.lookup import lot_named, lots_of, named, titles_of
from scheduler.application.lot_record import record_of, waits_of
from scheduler.application.moved_pulls import pull_shown
from scheduler.application.own_freezer import freezer_of, report
from scheduler.application.page_searches import Search, Searches
from scheduler.application.refusals import RULES, SEASON, Remedied
from scheduler.application.tell import LOT_READINGS, told_words
from scheduler.diagnostics import Fault, nearest
from scheduler.facts.fact import (
    CAUSES,
    AlertAcknowledged,
    Fact,
    HarvestLogged,
    HiveDied,
    HiveDisease,
    HiveTreatment,
    Observed,
    QueenAbove,
    Reading,
    Retracted,
    SeriesRecorded,
    SettingChanged,
    TaskFact,
    YardSet,
)
from scheduler.facts.harvest import COMB
from scheduler.facts.season import MARKS_AND_EDGES
from scheduler.ledger.store import Ledger
from scheduler.local_time import DAY, spoken
from scheduler.outputs.labels import LotCard, lot_card
from scheduler.outputs.pictures import series
from scheduler.outputs.pictures.season import BROAD, COLOURS, NARROW, season_picture
from scheduler.outputs.text.lot_sheet import LotSheet
from scheduler.outputs.text.now import NOW, Shown, ahead_shown, now_shown, task_shown
from scheduler.outputs.text.odds_text import doubtful_tasks, likely_words
from scheduler.outputs.text.rules_text import card_lines, changed_lines, set_line, without_amounts
from scheduler.outputs.text.season_text import season_text
from scheduler.outputs.text.warning_lines import LATE
from scheduler.outputs.text.why import why_text
from scheduler.outputs.wording.sentence import title_of
from scheduler.planning.odds import Odds
from scheduler.planning.plan import Plan
from scheduler.planning.planner import Planning, Unwanted
from scheduler.planning.task_ids import codes, current

WIDTH = 40  # columns of what is printed in a page: as many as a narrow phone shows
FUTURES = 100  # that are sampled for a page; assumed
HEARD = (AlertAcknowledged, Observed, Reading)  # after which the plan has other times, and hardly ever other tasks
UNTOLD = (AlertAcknowledged, SeriesRecorded, SettingChanged, YardSet)  # what no form of the page takes back
OF_HIVES = (HiveDied, HiveDisease, HiveTreatment, QueenAbove)
UNSOUGHT = "cures in the agenda"  # what a plan says of a missed limit while nobody looked for what would cure it
CURES, DAYS = "cures", "days"  # what is looked for behind the pages
MOST_ASKED = 4  # questions about days that are kept; assumed
MOST_COPIES = 60  # of each label; assumed
PICTURE_COLOURS = COLOURS  # what a style sheet says of the picture
Values = dict[str, Any]


class Pages:
    """The contents of the pages of one ledger, for a process that lives long."""

    def __init__(self, ledger: Ledger, now: Callable[[], int]) -> None:
        self.ledger, self.now = ledger, now
        self._kept: dict[str, Contents] = {}
        self._planned: dict[str, Contents] = {}  # the last that have their plan, by units
        self._days: dict[tuple[str, str, str], DaysAsked] = {}  # the last that were asked about, by units, harvest and first day
        self._searches = Searches(self._sought)
        self._lock = threading.Lock()

    def position(self) -> int:
        """Where the ledger stands: another number after each fact."""
        return self.ledger.position()

    def at(self) -> str:
        """What is shown: another word after each fact, once it was found what would help, and with each day that was worked out."""
        return f"{self.position()}.{self._searches.found[CURES]}.{self._searches.found[DAYS]}"

    def close(self) -> None:
        """Nothing is looked for any more."""
        self._searches.close()

    def look(self) -> None:
        """Look behind the pages for what would cure the limits that the plans miss which are shown, and for what the days take that were asked about."""
        self._searches.go()

    def _sought(self) -> Search | None:
        with self._lock:
            if (shown := next((one for one in self._kept.values() if one.misses_limits), None)) is not None:
                return Search(CURES, lambda: shown.find_cures(partial(self._is_shown, shown)))
            if (asked := next((one for one in self._days.values() if not one.over), None)) is not None:
                return Search(DAYS, lambda: asked.go_on(lambda: not self._searches.closed and asked in self._days.values()))
        return None

    def _is_shown(self, contents: Contents) -> bool:
        return not self._searches.closed and contents in self._kept.values()

    def days(self, units: str, like: str, first: str) -> Values:
        """What was worked out so far of a pull like a harvest, on days from the `first` on; both may be empty. Raises `Fault` for what is none."""
        contents, now = self.contents(units), self.now()
        offered = {"likes": likes(contents.view), "like": like, "first": first}
        if not like:
            return {**offered, "asked": None}
        key = units, like, first
        with self._lock:
            asked = self._days.get(key)
            if asked is None or not asked.stands(self.position(), now):
                asked = self._days[key] = DaysAsked(contents.view, like, first, now, self.position())
                while len(self._days) > MOST_ASKED:
                    del self._days[next(iter(self._days))]
        return {**offered, "first": asked.first.isoformat(), "asked": asked.shown()}

    def contents(self, units: str = "") -> Contents:
        """What there is to show now, in units ("metric" or "us") or in those of the yard file. Raises `Refused` where no yard was set."""
        position, now = self.position(), self.now()
        with self._lock:
            kept = self._kept.get(units)
            if kept is None or not kept.stands(position, now):
                if kept is not None and kept.is_planned:
                    self._planned[units] = kept
                kept = self._kept[units] = Contents(self.ledger, view_at(self.ledger, now, page=units), self.now, position)
            return kept

    def shown(self, units: str, tasks: Collection[str] = ()) -> LedgerView | None:
        """
        The ledger as a page shows it, at this moment, by the plan that was made last; None where what is pressed there needs another.

        While the plan stands it needs none. Once something was recorded, what is pressed of these `tasks` needs none as long as it was of others.
        """
        now = self.now()
        with self._lock:
            kept = self._kept.get(units)
            if kept is not None and not kept.is_planned:
                kept = self._planned.get(units)
        if kept is None or not kept.is_planned:
            return None
        if kept.stands(self.position(), now):
            return kept.view_at(now)
        view = view_at(self.ledger, now, search=False, page=units)
        return view if tasks and _goes_by(view, kept.view, tasks) else None


class Contents:
    """What the pages show while one plan stands."""

    def __init__(self, ledger: Ledger, view: LedgerView, now: Callable[[], int], position: int) -> None:
        self.view, self._ledger, self._now, self._position = view, ledger, now, position
        self._until = view.as_of.until
        self._work: tuple[Plan, int, Shown] | None = None
        self._cured: Plan | None = None
        self._lock = threading.Lock()

    def stands(self, position: int, now: int) -> bool:
        """Whether the plan is the same at a moment, as long as the ledger is there; on the next day the days that were missed are counted anew."""
        return self._position == position and self.view.now <= now < self._until and self._day(now) == self._day(self.view.now)

    def _day(self, moment: int) -> date:
        return datetime.fromtimestamp(moment, self.view.zone).date()

    @property
    def is_planned(self) -> bool:
        """Whether the plan is made."""
        return "plan" in self.view.__dict__

    def view_at(self, now: int) -> LedgerView:
        """The view a while later, which supposes without a search."""
        view = copy(self.view)
        view.now, view.search = now, False
        return view

    @property
    def plan(self) -> Plan:
        """The plan. Pages that are asked for at once wait for the one that makes it."""
        with self._lock:
            return self.view.plan

    @property
    def cured(self) -> Plan:
        """The plan, with what would cure its missed limits once that was found."""
        return self._cured or self.plan

    @property
    def misses_limits(self) -> bool:
        """Whether the plan is made, misses a limit, and nobody knows yet what would cure that."""
        if not self.is_planned or self._cured is not None:
            return False
        return any(warning.kind in LATE and warning.says.get("cure").kind == UNSOUGHT for warning in self.view.plan.warnings)

    def find_cures(self, wanted: Callable[[], bool]) -> bool:
        """Find what would cure the limits that the plan misses, as long as that is `wanted`; whether it was found."""
        try:
            found = Planning(self.view.problem, wanted=wanted).plan()
        except Unwanted:
            return False
        except Exception as fault:
            logging.getLogger(__name__).warning("what would cure the missed limits was not found: %s: %s", type(fault).__name__, fault)
            found = self.view.plan
        self._cured = found
        return True

    @cached_property
    def _odds(self) -> tuple[Odds, ...]:
        return self.view.odds(FUTURES)

    @cached_property
    def _whole(self) -> LedgerView:
        """With everything that ever became of a lot."""
        return whole_view(self._ledger, self.view.now, self.view.page)

    def work(self) -> Values:
        """The work at hand, what waits and what comes, and the lots; a plan that is shown so is in force. It shows no seconds."""
        plan, minute = self.cured, self._now() // 60
        if (work := self._work) is None:
            keep_in_force(self._ledger, self.view)
        if work is None or work[0] is not plan or work[1] != minute:
            self._work = work = plan, minute, now_shown(plan, self._now())
        pulls = [(name, spoken(at, self.view.zone)) for name, at in self.view.ahead.items()]
        return {
            "shown": work[2],
            "at_once": all_at_once(self.view, [step.task for step in work[2].steps if step.press]) if work[2].heading == NOW else (),
            "pulls": pulls,
            "told": self._told_today,
            "silent": self._silent_since if work[2].heading == NOW else "",
            "yesterday": self._day(self._now() - DAY).isoformat(),
            "lots": [f"{one.harvest}/{lot.id}" for one in self.view.harvests for lot in one.lots],
        }

    def task_named(self, text: str) -> str:
        """The id of the task that a code or a part of its name means. Raises `Fault` for what is none."""
        return named(self.plan, text, self.view.rules).id

    def task(self, text: str) -> Values:
        """One task: its why, how likely it is in time, and its code."""
        plan, view = self.plan, self.view
        task = named(plan, text, view.rules)
        return {
            "task": task_shown(plan, task, self._now()),
            "hives": tell_tasks.is_by_hive(view, task.id),
            "holding": "runs" if task.begun else "comes" if task.hold_done is not None else "",
            "told": self._last_told(lambda fact: isinstance(fact, TaskFact) and current(fact.task, view.rules.renamed) == task.id),
            "why": why_text(self.cured, task.id, width=WIDTH, page=True),
            "likely": likely_words(plan, self._odds, task.id),
            "code": codes(one.id for one in plan.tasks)[task.id],
        }

    def _last_told(self, about: Callable[[Fact], bool], since: date = date.min) -> tuple[str, str] | None:
        """The last fact of some kind that stands and was recorded `since` a day, by its id, and in words; for the form that takes it back."""
        found = [one for one in self.view.facts if about(one.fact) and self._day(one.recorded_at) >= since]
        if not found:
            return None
        last = max(found, key=lambda one: one.sequence)
        return last.id, self.view.words(told_words(last, titles_of(self.plan)))

    @cached_property
    def _silent_since(self) -> str:
        """When something was recorded of work or of a harvest last, where that was on a day before; "" else."""
        last = max((one.recorded_at for one in self.view.facts if isinstance(one.fact, TaskFact | HarvestLogged)), default=self.view.now)
        return spoken(last, self.view.zone) if self._day(last) < self._day(self.view.now) else ""

    @cached_property
    def _told_today(self) -> tuple[str, str] | None:
        return self._last_told(lambda fact: not isinstance(fact, UNTOLD), since=self._day(self.view.now))

    def ahead(self) -> Values:
        """The weeks ahead: as pictures (SVG), which limits are in doubt, and all of it under its days."""
        plan, view = self.plan, self.view
        drawn = behind(view.yard, view.season, plan.as_of)
        pictures = [season_picture(plan, drawn, width, name) for name, width in (("narrow", NARROW), ("broad", BROAD))]
        return {"yard": plan.yard, **ahead_shown(plan, drawn.freezers), "pictures": pictures, "likely": doubtful_tasks(plan, self._odds)}

    def season(self) -> Values:
        """The marks of the season and what they rest on, at each apiary."""
        view = self.view
        today = self._day(self._now())
        seen = {name: view.seen_at(name) for name in view.yard.apiaries or (None,)}
        text = "\n".join(season_text(one.season, today, one.evidence, WIDTH, name, page=True) for name, one in seen.items())
        told = self._last_told(lambda fact: isinstance(fact, Observed))
        drawn = [_drawn(shown) for one in seen.values() for shown in season_shown(one, view.yard.units)]
        return {
            "text": text,
            "marks": MARKS_AND_EDGES,
            "today": today.isoformat(),
            "apiaries": list(view.yard.apiaries),
            "told": told,
            "drawn": list({one["title"]: one for one in drawn}.values()),  # an apiary without a table of its own goes by the yard's
            "freezers": [name for name in view.yard.freezers if view.air.get(name)],
        }

    def hives(self) -> Values:
        """What the forms of the hives ask for, and what was recorded last of one."""
        view = self.view
        return {
            "hives": named_hives(view),
            "apiaries": list(view.yard.apiaries),
            "actives": [name for name in view.rules.treatments if name != "other"],
            "causes": list(CAUSES),
            "today": self._day(self._now()).isoformat(),
            "told": self._last_told(lambda fact: isinstance(fact, OF_HIVES)),
        }

    def freezer(self, name: str) -> Values:
        """What a freezer recorded. Raises `Fault` for one that there is not, and where nothing is recorded."""
        try:
            found = freezer_of(self.view, name)
            shown = freezer_shown(self.view, found.name)
        except Fault as fault:
            raise Remedied(fault.message, fault.write, look=SEASON) from None
        return {"freezer": found.name, "text": report(found, self.view.yard.units, page=True), "drawn": [_drawn(shown)]}

    def rules(self) -> Values:
        """What applies at this yard, its own changes included; how many tasks of the plan each card has given."""
        plan, rules = self.plan, self.view.rules
        titles = {task.rule: title_of(task) for task in reversed(plan.tasks)}  # as the plan has it; else without its amounts
        sets = [
            (set_line(one), [(key := f"{one.name}/{name}", titles.get(key) or without_amounts(card.title)) for name, card in one.cards.items()])
            for one in rules.sets.values()
        ]
        return {"yard": plan.yard, "sets": sets, "planned": Counter(task.rule for task in plan.tasks), "changed": changed_lines(rules)}

    def rule(self, text: str) -> Values:
        """One card, and its tasks. Raises `Fault` for a name that no card has."""
        try:
            card = self.view.rules.card(text)
        except Fault as fault:
            near = nearest(text, [one.key for one in self.view.rules.cards])
            raise Remedied(fault.message, fault.write, page=f'Near to it: "{near}"' if near else "", look=RULES) from None
        tasks = [(task.id, title_of(task)) for task in self.plan.tasks if task.rule == card.key]
        return {"card": card.key, "text": "\n".join(card_lines(self.view.rules, card, page=True)), "tasks": tasks}

    def lot(self, text: str) -> Values:
        """The record of a lot, made of everything that ever became of it. Raises `Fault` for one that there is not."""
        view = self._whole
        sheet = LotSheet(view.yard.yard, view.zone, view.yard.units, WIDTH)
        path = lot_named(text, lots_of(view))
        stops = [stop for stop in self.plan.stops if path in stop.lots]
        looked = {"comb": lots_of(view)[path][1].kind in COMB, "today": self._day(self._now()).isoformat()}
        return {"lot": path, "sheet": sheet.text(record_of(view, path), self._now(), waits_of(view)), "stops": stops, "readings": LOT_READINGS, **looked}

    def card(self, text: str) -> Values:
        """What is printed for the box of a lot."""
        return {"yard": self.view.yard.yard, "card": self._printed(text)}

    def labels(self, text: str, copies: str) -> Values:
        """Each label of a lot as often as is asked for: one for each package or jar."""
        if not (copies.isascii() and copies.isdigit() and 1 <= int(copies[:4]) <= MOST_COPIES):
            raise Fault(f'"{copies[:20]}" is not a number of copies', f"1 to {MOST_COPIES}")
        return {"us": self.view.yard_file.units == "us", "copies": int(copies), "most": MOST_COPIES, "card": self._printed(text)}

    def _printed(self, text: str) -> LotCard:
        view = self._whole
        return lot_card(view.plan, record_of(view, text), self._now())

    def harvest(self) -> Values:
        """What the form of a harvest begins with, and offers."""
        return harvest_values(self.view, self._now())

    def pull(self, name: str) -> Values:
        """A harvest that is planned, for the form that moves its pull. Raises `Fault` where none of that name is."""
        return pull_shown(self.view, name)


def _goes_by(view: LedgerView, before: LedgerView, tasks: Collection[str]) -> bool:
    """Take over the plan of a view of before, where what was recorded since says what became of other tasks of it; whether that is so."""
    known = {one.id: one.fact for one in before.recorded}
    since = [one.fact for one in view.recorded if one.id not in known]
    told = [known.get(fact.replaces or "", fact) if isinstance(fact, Retracted) else fact for fact in since]
    of = {current(fact.task, before.rules.renamed) for fact in told if isinstance(fact, TaskFact)}
    if view.now < before.now or not all(isinstance(fact, (TaskFact, *HEARD)) for fact in told):
        return False
    if not set(tasks) <= {task.id for task in before.plan.tasks} - of:
        return False
    view.__dict__.update(plan=before.plan, rules=before.rules, logged=before.logged)
    return True


def _drawn(shown: series.Drawing) -> Values:
    """A picture in two widths (SVG), and its table."""
    pictures = [series.element(shown.chart, shown.zone, width, titled=False) for width in (series.NARROW, series.WIDTH)]
    return {"title": shown.chart.title, "pictures": pictures, "columns": shown.columns, "rows": shown.rows}
