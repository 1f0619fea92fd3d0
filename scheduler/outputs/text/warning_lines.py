"""Warnings for a person: what loses most first, those of one cause together with their count, so that six late harvests are a few lines."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from scheduler.outputs.wording.sentence import Reader, in_words, reader_of
from scheduler.planning.plan import Plan, PlannedTask, Warning
from scheduler.quantities import Statement
from scheduler.rules.schema import LOSSES

NAMED = 3  # tasks named of those that one line is about
LATE = ("due date missed", "deadline missed")


class WarningLine(NamedTuple):
    """The words of warnings of one cause, the worst of them in full, the others by name and number; their tasks, the worst first; what is at stake, 0 the most.

    On a page, where each task is a link, the words name none.
    """

    words: str
    tasks: tuple[str, ...]
    stake: int


def warning_lines(plan: Plan, without: Sequence[str] = (), *, page: bool = False) -> tuple[WarningLine, ...]:
    """The warnings of a plan by cause, what loses most first; those of the tasks `without` are said elsewhere."""
    tasks = {task.id: task for task in plan.tasks}
    found: dict[tuple[str, ...], list[Warning]] = {}
    for warning in plan.warnings:
        if warning.task is None or warning.task not in without:
            found.setdefault(_cause(warning), []).append(warning)
    return tuple(sorted((_line(reader_of(plan, page=page), group, tasks) for group in found.values()), key=lambda line: line.stake))


def _cause(warning: Warning) -> tuple[str, ...]:
    """What warnings have in common that one line says: their kind, and of late work why nothing can be done about it."""
    if warning.task is None:
        return warning.kind, repr(warning.says)
    cure = dict(warning.says.values).get("cure") if warning.kind in LATE else None
    return ("late", cure.kind) if isinstance(cure, Statement) else (warning.kind,)


def _line(reader: Reader, group: Sequence[Warning], tasks: Mapping[str, PlannedTask]) -> WarningLine:
    ranked = sorted(group, key=lambda warning: (_stake(warning, tasks), -_size(warning)))
    worst, names = ranked[0], tuple(dict.fromkeys(warning.task for warning in ranked if warning.task))
    words = in_words(worst.says, reader) + (f" [{worst.task}]" if worst.task and not reader.page else "")
    others = [name for name in names if name != worst.task]
    if others and not reader.page:
        more = f" and {len(others) - NAMED} more" if len(others) > NAMED else ""
        words += f" And {len(others)} more: {', '.join(others[:NAMED])}{more}."
    return WarningLine(words, names, min(_stake(warning, tasks) for warning in group))


def _stake(warning: Warning, tasks: Mapping[str, PlannedTask]) -> int:
    task = tasks.get(warning.task or "")
    return LOSSES.index(task.loss) if task is not None else 0


def _size(warning: Warning) -> float:
    """By how much a limit is missed [s]; 0 where that is no question."""
    return max((value.value for name, value in warning.says.values if name in ("late", "over") and hasattr(value, "value")), default=0.0)


def first_lines(lines: Sequence[WarningLine], most: int | None) -> Iterator[str]:
    """The words of the first lines, and how many are left out."""
    shown = lines if most is None or len(lines) <= most else lines[:most]
    yield from (line.words for line in shown)
    if len(shown) < len(lines):
        yield f"{len(lines) - len(shown)} more kinds of warning: afterpull agenda --all"
