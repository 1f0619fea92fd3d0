"""Why a task is when it is, as sentences: its time, what bound it, how long it takes and from what, cautions, and the sources once at the end."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.diagnostics import Fault, instead
from scheduler.local_time import local, moment_text
from scheduler.outputs.text.wrapping import Pen
from scheduler.outputs.wording.sentence import Reader, in_words, reader_of, title_of
from scheduler.planning.plan import Plan, PlannedTask

_STATUS = {"provisional": "Likely, and firm once you record what it rests on,", "impossible": "Not possible as things stand", "held back": "Stopped"}

RECKONED = {  # estimates as a keeper calls them
    "drain_time": "Time to drain",
    "settle_time": "Time to settle",
    "temper_time": "Time to come to the room",
    "warm_time": "Time to warm through",
    "freeze_hold": "Time to freeze through",
    "freeze_comb_hold": "Time to freeze through",
    "thaw_hold": "Time to thaw",
    "cool_time": "Time to cool",
    "bucket_time": "Time to warm a bucket",
    "drying_time": "Time to dry",
    "egg_hatch_time": "Moth eggs hatch after",
    "beetle_hatch_time": "Beetle eggs hatch after",
    "beetle_time_left": "Left before beetle eggs hatch",
    "inspection_interval": "Moths can grow unseen for",
}


def why_text(plan: Plan, task_id: str, *, width: int = 80, colour: bool = False, page: bool = False) -> str:
    """Every reason of one task, with the rule's place; numbered sources at the end, once each. Raises `Fault` for an unknown task."""
    task = next((t for t in plan.tasks if t.id == task_id), None)
    if task is None:
        raise Fault(f'the plan has no task "{task_id}"', instead(task_id, (t.id for t in plan.tasks)))
    return "\n".join(_lines(reader_of(plan, page=page), plan, task, Pen(width, colour))) + "\n"


def _lines(reader: Reader, plan: Plan, task: PlannedTask, pen: Pen) -> Iterator[str]:
    yield from pen.wrapped(f"{title_of(task)} [{task.id}]", style="heading")
    yield from pen.wrapped(f"{_status(task)}{_span(task, plan)}. At stake: {task.loss}. Rule: {task.rule}.")
    for warning in plan.warnings:
        yield from pen.wrapped(in_words(warning.says, reader), first="  !", indent=4, style="warning") if warning.task == task.id else []
    sources: dict[str, int] = {}
    yield ""
    yield pen.paint("WHY", "heading")
    for reason in task.reasons:
        numbers = "".join(f" [{sources.setdefault(source, len(sources) + 1)}]" for source in reason.sources)
        yield from pen.wrapped(f"{_sentence(reason.label, in_words(reason.says, reader))}{numbers}", first="  -", indent=4)
    if task.cautions:
        yield ""
        yield pen.paint("CAUTIONS", "heading")
    for caution in task.cautions:
        yield from pen.wrapped(caution, first="  !", indent=4, style="warning")
    places = list(dict.fromkeys(reason.rule for reason in task.reasons if reason.rule))
    if sources or places:
        yield ""
        yield pen.paint("SOURCES", "heading")
    for source, number in sources.items():
        yield from pen.wrapped(source, first=f"  [{number}] ", indent=6, style="aside")
    for place in places:
        yield from pen.wrapped(f"rule {place}", first="  -", indent=6, style="aside")


def _sentence(label: str, words: str) -> str:
    """A reason as a keeper reads it: what was reckoned by its name in the trade, a number of a rule by its own; what is a sentence stands alone."""
    kind, _, name = label.partition(" ")
    if kind == "estimate" and name in RECKONED:
        return f"{RECKONED[name]}: {words.removeprefix(f'{name} ')}"
    if kind == "parameter":
        return f"{name[:1].upper()}{name[1:]}: {words}"
    if label in ("not before", "due", "deadline"):
        return f"{label[:1].upper()}{label[1:]}: {words}"
    return f"{words[:1].upper()}{words[1:]}"


def _status(task: PlannedTask) -> str:
    return _STATUS.get(task.status, task.status[:1].upper() + task.status[1:])


def _span(task: PlannedTask, plan: Plan) -> str:
    if not task.has_time:
        return ""
    year = local(plan.as_of, plan.timezone).year
    runs = task.is_open and task.hold_done is not None and task.start <= plan.as_of and not task.sittings
    until = f", its hold until {moment_text(task.hold_done or 0, plan.timezone, year)}" if runs else ""
    due = f", due {moment_text(task.due, plan.timezone, year)}" if task.due is not None else ""
    return f" from {moment_text(task.start, plan.timezone, year)} to {moment_text(task.finish, plan.timezone, year)}{until}{due}"
