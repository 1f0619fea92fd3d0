"""The plan as one JSON object, for programs. The fields are a promise: more may be added, none change their meaning."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

from scheduler.local_time import iso
from scheduler.outputs.wording.sentence import Reader, how_of, in_words, reader_of, title_of, words_of
from scheduler.outputs.wording.sitting_words import sitting_title
from scheduler.planning.odds import Odds
from scheduler.planning.plan import Plan, PlannedTask
from scheduler.planning.sittings import Sitting, leaves, sittings
from scheduler.planning.task_ids import codes


def plan_json(plan: Plan, odds: Sequence[Odds] | None = None, made_by: Sequence[tuple[str, str, str]] = ()) -> dict[str, Any]:
    """
    The object of `plan --json`; times are ISO 8601 in the yard's zone with their offset, numbers SI. `odds` only where they were asked for.
    `made_by` names the rules it was made by: pack, version and SHA-256 of each.

    The `code` of a task is short and in upper case, the same in every plan; `afterpull done` takes it, and labels show it.
    """
    reader, tasks, code = reader_of(plan), {task.id: task for task in plan.tasks}, codes(task.id for task in plan.tasks)
    coming = [one for one in sittings(plan.tasks, plan.timezone) if not one.done]
    leave = leaves(coming, tasks)
    said = {
        "yard": plan.yard,
        "timezone": plan.timezone,
        "as_of": iso(plan.as_of, plan.timezone),
        "tasks": [_task(task, plan.timezone, reader, code[task.id]) for task in plan.tasks],
        "sittings": [_sitting(one, tasks, plan.timezone, leave.get(one.id)) for one in coming],
        "warnings": [{"kind": warning.kind, "task": warning.task, "text": in_words(warning.says, reader)} for warning in plan.warnings],
    }
    if made_by:
        said |= {"made_by": [{"pack": pack, "version": version, "sha256": digest} for pack, version, digest in made_by]}
    return said if odds is None else said | {"odds": [_odds(one, plan.timezone, reader) for one in odds]}


def _odds(one: Odds, timezone: str, reader: Reader) -> dict[str, Any]:
    """In how many of the sampled futures a limit is kept, and when its task is over."""
    times = {"median": iso(one.median, timezone), "nine_in_ten": iso(one.nine_in_ten, timezone)}
    help = {"says": in_words(one.help[0], reader), "kept": one.help[1], "of": one.help[2]} if one.help else None
    return {"task": one.task, "kept": one.kept, "of": one.of, **times, "hangs_on": one.hangs_on or None, "help": help}


def _sitting(one: Sitting, tasks: Mapping[str, PlannedTask], timezone: str, leave: int | None) -> dict[str, Any]:
    """A sitting; with when to `leave` for it where it is a way off."""
    said = {
        "id": one.id,
        "person": one.person,
        "place": one.place,
        "start": iso(one.start, timezone),
        "end": iso(one.end, timezone),
        "title": sitting_title(tasks, one.steps),
        "tasks": list(one.tasks),
    }
    return said if leave is None else said | {"leave": iso(leave, timezone)}


def plan_bytes(plan: Plan, odds: Sequence[Odds] | None = None, made_by: Sequence[tuple[str, str, str]] = ()) -> bytes:
    """The same object as UTF-8 text, two spaces deep, keys in the order given, one line end at the close: the same plan gives the same bytes."""
    return (json.dumps(plan_json(plan, odds, made_by), indent=2, ensure_ascii=False, allow_nan=False) + "\n").encode("utf-8", "replace")


def _task(task: PlannedTask, timezone: str, reader: Reader, code: str) -> dict[str, Any]:
    def at(instant: int | None) -> str | None:
        return None if instant is None else iso(instant, timezone)

    return {
        "id": task.id,
        "code": code,
        "rule": task.rule,
        "harvest": task.harvest,
        "lot": task.lot,
        "hive": task.hive or None,
        "batch": task.batch,
        "title": title_of(task),
        "status": task.status,
        "held_by": task.held_by,
        "alongside": task.alongside,
        "start": at(task.start if task.has_time else None),
        "hold_done": at(task.hold_done),
        "finish": at(task.finish if task.has_time else None),
        "due": at(task.due),
        "after": [link.task for link in task.links],
        "relations": [{"task": link.task, "kind": link.kind, "least_s": link.least - link.early, "greatest_s": link.greatest} for link in task.links],
        "occupies": dict(task.occupies),
        "hands": [[at(start), at(stop)] for start, stop in task.hands],
        "alerts": [{"at": at(alert.at), "say": words_of(alert.say)} for alert in task.alerts],
        "why": [f"{reason.label}: {in_words(reason.says, reader)}" for reason in task.reasons],
        "sources": list(dict.fromkeys(source for reason in task.reasons for source in reason.sources)),
        "how": how_of(task),
        "cautions": list(task.cautions),
        "stream": task.stream,
        "loss": task.loss,
        "place": task.place,
        "person": task.person,
        "together": task.together,
    }
