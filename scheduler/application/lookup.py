"""What a person types for a task or a moment, and what is meant by it."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from scheduler.application.ledger_view import LedgerView
from scheduler.application.refusals import NotPlanned
from scheduler.diagnostics import Fault, instead
from scheduler.facts.harvest import Harvest, Lot, lot_path
from scheduler.local_time import DAYS, MONTHS, in_years, spoken
from scheduler.outputs.wording.sentence import title_of
from scheduler.planning.plan import Plan, PlannedTask
from scheduler.planning.planner import possible_ids
from scheduler.planning.task_ids import CODE, batch_of, card_slug, coded, current, ends_with, former, slug_of, without_subject
from scheduler.rules.rule_set import LoadedCard, Rules

_WEEKDAY, _MONTH = "|".join(DAYS).lower(), "|".join(MONTHS).lower()
_DAY = rf"(?:(?P<weekday>{_WEEKDAY})[a-z]*)?\s*(?:(?P<number>\d{{1,2}})\s+(?P<month>{_MONTH})[a-z]*(?:\s+(?P<year>\d{{4}}))?)?"
_SAID = re.compile(rf"(?:(?P<near>today|yesterday|tomorrow)|{_DAY})\s*(?P<clock>\d{{1,2}}:\d{{2}})?\s*(?P<offset>[+-]\d{{2}}:\d{{2}})?")
_TWELVE = re.compile(r"\b(1[0-2]|0?[1-9])(?:[:.]([0-5]\d))? ?([ap])\.?m\b\.?")  # an hour as "7 pm", "7:40pm" or "7.40 p.m."
_NEAR = {"yesterday": -1, "today": 0, "tomorrow": 1}
_AS = '"19:40", "yesterday 19:40", "Sun 14:00", "Wed 26 Aug 17:00" or "2026-08-12T19:40" (local time at the yard)'


def named(plan: Plan, text: str, rules: Rules | None = None) -> PlannedTask:
    """
    The task a person means by an id or the end of one ("freeze.1", "a/freeze"), or by its code; of several batches the one that is open.

    Raises `Fault` listing what it could be; with `rules` it says so where a card of that name is not in the plan.
    """
    text = by_code([task.id for task in plan.tasks], text, rules.renamed if rules else {})
    text = current(text, rules.renamed) if rules else text
    ids = {task.id: task for task in plan.tasks}
    if text in ids:
        return ids[text]
    ends = [task for task in plan.tasks if ends_with(task.id, text)]
    left = [task for task in ends if task.is_open] or [task for task in plan.tasks if task.is_open and batch_of(task.id, task.batch, text)]
    if len(left) == 1:
        return left[0]
    if len(ends) == 1:
        return ends[0]
    if ends or left:
        could = ends or left
        raise Fault(f'"{text}" could be any of {len(could)} tasks', " or ".join(task.id for task in could[:8]))
    if rules and (words := _not_planned(plan, text, rules)):
        raise NotPlanned(*words)
    letters = re.sub(r"[^a-z]", "", text.lower())
    near = [name for name in ids if letters and letters in re.sub(r"[^a-z]", "", name.lower())]
    raise NotPlanned(f'no task is named "{text}"', " or ".join(near[:8]) if near else instead(text, [without_subject(name) for name in ids]))


def by_code(tasks: Collection[str], text: str, renamed: Mapping[str, str]) -> str:
    """
    The id that a code from a label means, of these; anything else as it was typed, a name before all. Raises `Fault` where it may mean several.

    A label keeps its code where its card was `renamed` since.
    """
    named_so = any(ends_with(task, text) for task in tasks)
    spelt = {known: task for task in tasks for known in (*former(task, renamed), task)} if not named_so else {}
    meant = list(dict.fromkeys(spelt[known] for known in coded(spelt, text)))
    if len(meant) > 1:
        raise Fault(f'the code "{text}" could mean {len(meant)} tasks', " or ".join(meant[:8]))
    return meant[0] if meant else text


def _not_planned(plan: Plan, text: str, rules: Rules) -> tuple[str, str] | None:
    """What is said of a card that has no task now, and what stands in its place."""
    card = next((card for card in rules.in_order if card_slug(card.name) == slug_of(text)), None)
    if card is None or any(task.rule == card.key for task in plan.tasks):
        return None
    other = [task.id for task in plan.tasks if rules.by_key[task.rule].instead_of == card.key or task.rule == card.instead_of]
    told = f'"{text}" is not in the plan now: ' + ("another way was chosen" if other else f'what the card "{card.name}" asks for is not so')
    return told, " or ".join(other)


def cards_named(rules: Rules, text: str) -> list[LoadedCard]:
    """The cards whose task an id, or the end of one, can be."""
    slug = slug_of(current(text, rules.renamed))
    return [card for card in rules.in_order if card_slug(card.name) == slug]


def lots_of(view: LedgerView) -> dict[str, tuple[Harvest, Lot]]:
    """Every lot by its path ("ridge-2/a"), with its harvest."""
    return {lot_path(harvest.harvest, lot.id): (harvest, lot) for harvest in view.harvests for lot in harvest.lots}


def lot_named(text: str, lots: Collection[str], harvest: str = "") -> str:
    """The path of the lot a person means by it or by its end; of several that of one `harvest`. Raises `Fault` where there is not one."""
    found = [path for path in lots if text == path or path.endswith(f"/{text}")]
    near = [path for path in found if path.startswith(f"{harvest}/")]
    if len(found) != 1 and len(near) != 1:
        told = f'no lot is called "{text}"' if not found else f'"{text}" could be any of {len(found)} lots'
        raise Fault(told, " or ".join(found) or (instead(text, lots) if lots else "log a harvest first"))
    return (near if len(near) == 1 else found)[0]


def refuse_future(at: int, now: int, zone: ZoneInfo) -> None:
    """Refuse a report of a moment still to come."""
    if at > now:
        raise Fault(f"{spoken(at, zone)} is still to come; now it is {spoken(now, zone)}", "the time at which it happened")


def any_task(view: LedgerView, text: str) -> str:
    """
    The id of the task a person means, also where the plan does not hold it just now: another way was chosen, it lapsed, nothing asks for it.

    Raises `Fault` listing what it could be.
    """
    try:
        return named(view.plan, text, view.rules).id
    except NotPlanned:
        if len(text) >= CODE and text.isalnum():  # from a label that was printed while the plan held it
            text = by_code(possible_ids(view.problem, view.rules.in_order), text, view.rules.renamed)
        text, cards = current(text, view.rules.renamed), cards_named(view.rules, text)
        found = [name for name in dict.fromkeys(possible_ids(view.problem, cards) if cards else ()) if name == text or ends_with(name, text)]
        if not found:
            raise
        if len(found) > 1:
            raise Fault(f'"{text}" could be any of {len(found)} tasks', " or ".join(found[:8])) from None
        return found[0]


def moment_of(text: str | None, now: int, zone: ZoneInfo, *, ahead: bool = False) -> int:
    """
    A moment as typed, or as this program prints it: "19:40" or "7:40 pm" (today; with `ahead` the next), "yesterday 19:40", "Sun 14:00" (the last; with `ahead`
    the next), "Wed 26 Aug 17:00" (the nearest), "2026-08-12T19:40". With `ahead` a day alone is its beginning.

    Without words it is now. Raises `Fault` for what is no time, and, unless `ahead`, for one of today that is still to come.
    """
    if text is None:
        return now
    words = _TWELVE.sub(_on_24_hours, " ".join(text.lower().split()))
    said, today = _SAID.fullmatch(words), datetime.fromtimestamp(now, zone)
    try:
        if not words or said is None:
            at = in_years(datetime.fromisoformat(text.strip()), text)
            return int((at if at.tzinfo else at.replace(tzinfo=zone)).timestamp())
        clock = time.fromisoformat(said["clock"].zfill(5)) if said["clock"] else None
        day = _day_of(said, today, clock, ahead)
        there = datetime.strptime(said["offset"], "%z").tzinfo if said["offset"] else zone
    except Fault:
        raise
    except ValueError:
        raise Fault(f'"{text}" is not a time', _AS) from None
    if clock is None and not ahead:
        raise Fault(f'"{text}" is a day, and no time of it', f'"{text} 19:40"')
    in_years(day, text)
    at = datetime.combine(day, clock or time(0), tzinfo=there)
    if not ahead and day == today.date() and int(at.timestamp()) > now:
        raise Fault(f"{spoken(int(at.timestamp()), zone)} is still to come; now it is {spoken(now, zone)}", f'"yesterday {said["clock"]}", if that is meant')
    return int(at.astimezone(UTC).timestamp())


def _on_24_hours(hour: re.Match[str]) -> str:
    return f"{int(hour[1]) % 12 + (12 if hour[3] == 'p' else 0):02}:{hour[2] or '00'}"


def _day_of(said: re.Match[str], today: datetime, clock: time | None, ahead: bool) -> date:
    """The day that was said. Raises `ValueError` where there is none, `Fault` where its weekday is another."""
    if said["near"]:
        return today.date() + timedelta(_NEAR[said["near"]])
    weekday = [one.lower() for one in DAYS].index(said["weekday"]) if said["weekday"] else None
    if said["number"] is None:
        over = clock is not None and clock <= today.time()
        if weekday is None:
            if clock is None:
                raise ValueError
            return today.date() + timedelta(1 if ahead and over else 0)
        away = (weekday - today.weekday()) % 7
        return today.date() + timedelta((7 if away == 0 and over else away) if ahead else (away - 7 if away else 0))
    month = [one.lower() for one in MONTHS].index(said["month"]) + 1
    years = [int(said["year"])] if said["year"] else [today.year - 1, today.year, today.year + 1]
    days = [date(year, month, int(said["number"])) for year in years if month != 2 or int(said["number"]) < 29 or said["year"] or year % 4 == 0]
    if not days:
        raise ValueError
    day = min(days, key=lambda one: abs(one - today.date()))
    if weekday is not None and day.weekday() != weekday:
        raise Fault(f"{day.day} {MONTHS[day.month - 1]} {day.year} is a {DAYS[day.weekday()]}", "the day that is meant")
    return day


def titles_of(plan: Plan) -> dict[str, str]:
    """What the tasks of a plan are called, by their ids."""
    return {task.id: title_of(task) for task in plan.tasks}
