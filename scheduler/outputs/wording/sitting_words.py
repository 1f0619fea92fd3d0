"""The words of sittings: a title of what is at stake, and notes of a phone's worth. Estimates, codes and sources stay in `afterpull why`."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from scheduler.local_time import DAY, clock, local, moment_text
from scheduler.outputs.plain_text import one_line, paragraphs
from scheduler.outputs.wording.sentence import how_of, title_of
from scheduler.planning.plan import Plan, PlannedTask
from scheduler.planning.sittings import Step, has_name
from scheduler.quantities import show_duration
from scheduler.rules.schema import LOSSES, TITLE

NAME = 10  # of a harvest's or a person's name in it
NOTES = 1200  # of notes at most
_LINES = (60, 44, 32)  # of a step's words, the longest that leave the notes short enough
_MOST_STEPS = 14
_WARNING = 100


def sitting_title(tasks: Mapping[str, PlannedTask], steps: Sequence[Step], lead: str = "") -> str:
    """
    "ridge-2: spin b, cut a, drain a +3": what loses most if it slips comes first, then what is due
    within a day, then what takes longest; the verb is never shortened away.

    Work at an apiary with a name begins with that, and work of somebody else than the keeper says whose it is.
    """
    harvests = {tasks[step.task].harvest for step in steps}
    place = tasks[steps[0].task].place
    one = one_line(place) if has_name(place) else next(iter(harvests)) if len(harvests) == 1 else ""
    lead += f"{_shortened(one)}: " if one else ""
    labels = _labels(tasks, steps, several=len(harvests) > 1)
    first = tasks[steps[0].task]
    whose = f" ({whose_words(first, short=True)})" if first.person else ""
    for shown in range(len(labels), 0, -1):
        more = f" +{len(labels) - shown}" if shown < len(labels) else ""
        title = f"{lead}{', '.join(labels[:shown])}{more}{whose}"
        if len(title) <= TITLE:
            return title
    return cut(f"{lead}{labels[0]}", TITLE - len(whose)) + whose


def whose_words(task: PlannedTask, *, short: bool = False) -> str:
    """Whose work it is, where that is not the keeper's alone: "Ash", or "with Ash" of what both do together."""
    person = task.person or ""
    return f"{'with ' if task.together else ''}{_shortened(person) if short else person}"


def _labels(tasks: Mapping[str, PlannedTask], steps: Iterable[Step], *, several: bool) -> list[str]:
    """What is done to which lots, once each, in order of what is at stake."""
    lots: dict[str, dict[str, None]] = {}
    rank: dict[str, tuple[int, bool, int, int]] = {}
    for number, step in enumerate(steps):
        task = tasks[step.task]
        name = step_name(task, step)
        loss, later, length, first = rank.get(name, (len(LOSSES), True, 0, number))
        later = later and (task.due is None or task.due > step.end + DAY)
        rank[name] = min(loss, LOSSES.index(task.loss)), later, length - (step.end - step.start), first
        whose = f"{_shortened(task.harvest)}/{task.lot or ''}".rstrip("/") if several and task.harvest else task.lot or ""
        lots.setdefault(name, {})[one_line(whose)] = None
    return [" ".join([name, *filter(None, lots[name])]) for name in sorted(lots, key=lambda name: rank[name])]


def step_name(task: PlannedTask, step: Step) -> str:
    """What a step is called where there is no room for its title: the card's name, or that of its closing work."""
    card = one_line(task.rule.partition("/")[2] or task.rule)
    return (one_line(task.closing_name) or f"end {card}") if step.phase.startswith("end") else card


def step_title(task: PlannedTask, step: Step) -> str:
    """The title of a step: the closing work has its own."""
    title = one_line(title_of(task)) or one_line(task.id)
    if step.phase.startswith("end"):
        return one_line(task.closing_title) or f"{title}: the end of it"
    return f"{title}, go on" if "-" in step.phase else title


def over_title(task: PlannedTask) -> str:
    """The title where a hold is over that nobody closes."""
    card = one_line(task.rule.partition("/")[2] or task.rule)
    return cut(_whose(task) + (one_line(task.closing_name) or f"{card} over") + (f" {one_line(task.lot)}" if task.lot else ""), TITLE)


def limit_title(task: PlannedTask, timezone: str) -> str:
    """The title of a limit on its day: until when, and what."""
    card = one_line(task.rule.partition("/")[2] or task.rule)
    at = clock(local(task.due or task.start, timezone))
    return cut(f"{_whose(task)}by {at}: {card}{f' {one_line(task.lot)}' if task.lot else ''}", TITLE)


def done_title(tasks: Mapping[str, PlannedTask], steps: Sequence[Step]) -> str:
    """The title of what is over."""
    return sitting_title(tasks, steps, "Done: ")


def hold_title(task: PlannedTask) -> str:
    """The title of a hold, where holds are shown."""
    return cut(f"Waits: {one_line(title_of(task)) or one_line(task.id)}", TITLE)


Lines = Mapping[str, Sequence[PlannedTask]]  # the lines of checklists, by the step they belong to


def sitting_notes(
    plan: Plan, tasks: Mapping[str, PlannedTask], steps: Sequence[Step], lines: Lines, warnings: Sequence[str] = (), *, done: bool = False
) -> str:
    """The steps with their clock, minutes, until when and due by, each caution once at its first step; warnings; how to ask why."""
    text = ""
    for width in _LINES:
        shown = steps[:_MOST_STEPS] if width < _LINES[0] else steps
        text = paragraphs("\n".join(_lines(plan, tasks, shown, lines, len(steps) - len(shown), warnings, width, done=done)))
        if len(text) <= NOTES:
            return text
    return _cut_lines(text, NOTES)


def task_notes(plan: Plan, task: PlannedTask, warnings: Sequence[str] = ()) -> str:
    """The notes of one task by itself: its title, until when, due by, its cautions, warnings; how to ask why."""
    year = local(task.start, plan.timezone).year
    words = [one_line(title_of(task)) or one_line(task.id)]
    if task.hold_done is not None and task.hold_done > task.holds_from:
        words.append(f"until {moment_text(task.hold_done, plan.timezone, year)}")
    if task.due is not None:
        words.append(f"due {moment_text(task.due, plan.timezone, year)}")
    found = [
        ", ".join(words),
        *filter(None, [one_line(how_of(task))]),
        *(one_line(brief) for brief in task.briefs),
        *_closing(warnings, likely=task.status == "provisional", task=task.id),
    ]
    return _cut_lines(paragraphs("\n".join(found)), NOTES)


def _closing(warnings: Sequence[str], *, likely: bool, task: str) -> Iterator[str]:
    yield from (f"! {cut(one_line(words), _WARNING)}" for words in warnings[:2])
    if likely:
        yield "Likely: firm once you record it."
    yield f"Why: afterpull why {one_line(task)}"


def _lines(
    plan: Plan,
    tasks: Mapping[str, PlannedTask],
    steps: Sequence[Step],
    lines: Lines,
    left_out: int,
    warnings: Sequence[str],
    width: int,
    *,
    done: bool,
) -> Iterator[str]:
    year = local(steps[0].start, plan.timezone).year
    said: set[str] = set()
    for step in steps:
        task = tasks[step.task]
        yield _step_line(plan, task, step, width, year, done=done)
        if how_of(task) and not done and not step.phase.startswith("end"):
            yield f"   {cut(one_line(how_of(task)), 2 * width)}"
        for brief in () if done else task.briefs:
            if brief not in said:
                said.add(brief)
                yield f"   {one_line(brief)}"
        if not done and step.phase == ("end" if task.closing else "begin"):
            yield from (f"   - {cut(one_line(title_of(line)), width)}" for line in lines.get(task.id, ()))
    if left_out:
        yield f"and {left_out} more: afterpull agenda"
    likely = not done and all(tasks[step.task].status == "provisional" for step in steps)
    yield from _closing(() if done else warnings, likely=likely, task=steps[0].task)


def _step_line(plan: Plan, task: PlannedTask, step: Step, width: int, year: int, *, done: bool) -> str:
    words = f"{clock(local(step.start, plan.timezone))} {cut(step_title(task, step), width)}"
    if done:
        return f"{words}, done"
    words += f", {show_duration(step.end - step.start)}"
    if step.phase.startswith("begin") and task.hold_done is not None and step.end == task.holds_from:
        words += f", until {moment_text(task.hold_done, plan.timezone, year)}"
    last = step.phase.startswith("end") or not task.closing
    return words + (f", due {moment_text(task.due, plan.timezone, year)}" if last and task.due is not None else "")


def _whose(task: PlannedTask) -> str:
    return f"{_shortened(task.harvest)}: " if task.harvest else ""


def _shortened(name: str) -> str:
    return cut(one_line(name), NAME)


def cut(text: str, most: int) -> str:
    """A text of so many characters at most, an ellipsis for what is left out."""
    return text if len(text) <= most else f"{text[: most - 1].rstrip()}…"


def _cut_lines(text: str, most: int) -> str:
    """Whole lines from the first, and the last, which says how to ask on."""
    *lines, last = text.split("\n")
    while lines and len("\n".join([*lines, last])) > most:
        lines.pop()
    return "\n".join([*lines, last])
