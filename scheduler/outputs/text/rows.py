"""What the plan on a terminal and the agenda are made of: sittings with their steps, ends of holds that nobody closes, limits."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from scheduler.local_time import clock, day, local, moment_text
from scheduler.outputs.wording.sentence import title_of, words_of
from scheduler.outputs.wording.sitting_words import sitting_title, step_title, whose_words
from scheduler.planning.plan import Plan, PlannedTask, checklists
from scheduler.planning.sittings import ROOMS, Sitting, Step, has_name, leaves, sittings

_STATUS = {"provisional": " (likely)", "done": " (done)", "skipped": " (dropped)"}


class Row(NamedTuple):
    """Something with a time: a sitting, or a task that is a moment by itself: a limit, the end of a hold that nobody closes, a word to the keeper."""

    at: int
    sitting: Sitting | None
    task: PlannedTask | None

    @property
    def over(self) -> int:
        """When it is over [s since 1970]."""
        return self.sitting.end if self.sitting else self.at

    @property
    def ids(self) -> tuple[str, ...]:
        """The tasks it is of."""
        return self.sitting.tasks if self.sitting else (self.task.id,) if self.task else ()


class Rows:
    """The rows of one plan, and the words of each."""

    def __init__(self, plan: Plan) -> None:
        self.plan, self.tasks = plan, {task.id: task for task in plan.tasks}
        self.year = local(plan.as_of, plan.timezone).year
        self.lines: Mapping[str, Sequence[PlannedTask]] = checklists(plan)
        self.all = tuple(sorted(self._all(), key=lambda row: (row.at, row.ids)))

    def _all(self) -> Iterator[Row]:
        made = sittings(self.plan.tasks, self.plan.timezone)
        self.leaves = leaves(made, self.tasks)
        yield from (Row(one.start, one, None) for one in made)
        seen = {name for one in made for name in one.tasks}
        for task in self.plan.tasks:
            if not task.has_time or task.alongside is not None:
                continue
            if task.limit and task.due is not None:
                yield Row(task.due, None, task)
            elif task.is_open and not task.closing and task.hold_done is not None and task.hold_done > task.holds_from:
                yield Row(task.hold_done, None, task)
            elif task.id not in seen:
                yield Row(task.start, None, task)

    def when(self, moment: int) -> str:
        """A moment with its day, and its year where that is not this one."""
        return moment_text(moment, self.plan.timezone, self.year)

    def day(self, moment: int) -> str:
        """The day of a moment: "Tue 11 Aug"."""
        return day(local(moment, self.plan.timezone), self.year)

    def span(self, start: int, end: int) -> str:
        """From when to when on the clock: "17:30-20:30"; one moment where it takes no time."""
        begins, ends = (clock(local(moment, self.plan.timezone)) for moment in (start, end))
        return f"{begins}-{ends}" if end > start and len(begins) + len(ends) < 12 else begins

    def head(self, one: Sitting) -> str:
        """What a sitting is called, whose it is and where one has to go."""
        where = "" if has_name(one.place) else self.where(one.place)  # the title says it then
        return f"{sitting_title(self.tasks, one.steps)}{where}{self.leave(one)}{' (done)' if one.done else ''}"

    def leave(self, one: Sitting) -> str:
        """When one has to leave for a sitting a way off, unless that was before this plan."""
        at = self.leaves.get(one.id, 0)
        return f", leave {clock(local(at, self.plan.timezone))}" if at >= self.plan.as_of else ""

    def where(self, place: str) -> str:
        """Where one has to go, unless that is the house."""
        return "" if place in ROOMS - {"store"} else f", {place}"

    def step(self, step: Step, *, alone: Sitting | None = None) -> str:
        """A step in words, with its id: until when it holds, by when it is due. Whose it is and where is said of a step that is a sitting `alone`."""
        task = self.tasks[step.task]
        closing = step.phase.startswith("end")
        words = f"{f'{whose_words(task)}: ' if alone and task.person else ''}{step_title(task, step)}{_STATUS.get(task.status, '')}"
        more = [f"{self.where(task.place)}{self.leave(alone)}".removeprefix(", ")] if alone and self.where(task.place) else []
        if not closing and task.is_open:
            more += filter(None, [words_of(task.lies)])
        if not closing and task.hold_done is not None and step.end == task.holds_from and task.is_open:
            more.append(f"until {self.when(task.hold_done)}{self._closed_late(task)}")
        if task.due is not None and task.is_open and (closing or not task.closing):
            more.append(f"due {self.when(task.due)}")
        return f"{'; '.join([words, *more])} [{task.id}]"

    def _closed_late(self, task: PlannedTask) -> str:
        """When hands end a hold, where that is later."""
        later = task.closing and task.hold_done is not None and task.closing[0][0] > task.hold_done
        return f", next step {self.when(task.closing[0][0])}" if later else ""

    def moment(self, row: Row) -> str:
        """The words of a task that is a moment by itself."""
        task = row.task
        if task is None:
            return ""
        if task.limit:
            return f"{title_of(task)}: planned for {self.when(task.finish)} [{task.id}]"
        if row.at == task.hold_done:
            return f"{over_words(task)} [{task.id}]"
        return f"{title_of(task)}{_STATUS.get(task.status, '')}{self.where(task.place)} [{task.id}]"


def over_words(task: PlannedTask) -> str:
    """What is so once a hold is over that nobody closes: in the card's words, else that it is over."""
    return task.closing_title or f"Over: {title_of(task)}"
