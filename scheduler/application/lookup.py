"""What a person types for a task or a moment, and what is meant by it."""

from __future__ import annotations

import re
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from scheduler.diagnostics import Fault, instead
from scheduler.local_time import in_years
from scheduler.planning.plan import Plan, PlannedTask
from scheduler.planning.task_ids import card_slug, current, ends_with, slug_of, without_subject
from scheduler.rules.rule_set import Rules


def named(plan: Plan, text: str, rules: Rules | None = None) -> PlannedTask:
    """
    The task a person means by an id or the end of one ("freeze.1", "a/freeze").

    Raises `Fault` listing what it could be; with `rules` it says so where a card of that name is not in the plan.
    """
    text = current(text, rules.renamed) if rules else text
    ids = {task.id: task for task in plan.tasks}
    if text in ids:
        return ids[text]
    ends = [task for task in plan.tasks if ends_with(task.id, text)]
    if len(ends) == 1:
        return ends[0]
    left = [task for task in ends if task.is_open]
    if len(left) == 1:
        return left[0]
    if ends:
        raise Fault(f'"{text}" could be any of {len(ends)} tasks', " or ".join(task.id for task in ends[:8]))
    if rules and (words := _not_planned(plan, text, rules)):
        raise Fault(*words)
    letters = re.sub(r"[^a-z]", "", text.lower())
    near = [name for name in ids if letters and letters in re.sub(r"[^a-z]", "", name.lower())]
    raise Fault(f'no task is named "{text}"', " or ".join(near[:8]) if near else instead(text, [without_subject(name) for name in ids]))


def _not_planned(plan: Plan, text: str, rules: Rules) -> tuple[str, str] | None:
    """What is said of a card that has no task now, and what stands in its place."""
    card = next((card for card in rules.in_order if card_slug(card.name) == slug_of(text)), None)
    if card is None or any(task.rule == card.key for task in plan.tasks):
        return None
    other = [task.id for task in plan.tasks if rules.by_key[task.rule].instead_of == card.key or task.rule == card.instead_of]
    told = f'"{text}" is not in the plan now: ' + ("another way was chosen" if other else f'what the card "{card.name}" asks for is not so')
    return told, " or ".join(other) if other else "afterpull agenda --all, for what is planned"


def moment_of(text: str | None, now: int, zone: ZoneInfo, *, ahead: bool = False) -> int:
    """
    A moment as typed: "19:40" (the last time it was that; with `ahead` the next), "yesterday 19:40", "tomorrow 19:40", "2026-08-12T19:40".

    Without words it is now. Raises `Fault` for what is no time.
    """
    if text is None:
        return now
    today = datetime.fromtimestamp(now, zone)
    match = re.fullmatch(r"(?:(yesterday|tomorrow)\s+)?(\d{1,2}:\d{2})", text.strip().lower())
    try:
        at = datetime.combine(today.date(), time.fromisoformat(match[2].zfill(5)), tzinfo=zone) if match else datetime.fromisoformat(text.strip())
    except ValueError:
        raise Fault(f'"{text}" is not a time', '"19:40", "yesterday 19:40" or "2026-08-12T19:40" (local time at the yard)') from None
    if match is None:
        in_years(at, text)
        return int((at if at.tzinfo else at.replace(tzinfo=zone)).timestamp())
    days = {"yesterday": -1, "tomorrow": 1}.get(match[1] or "", (at <= today) if ahead else -(at > today))
    return int((at + timedelta(days)).timestamp())
