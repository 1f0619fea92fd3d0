"""What is held back: by a stop of a lot or of the yard, and because it follows a task that has no time."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence

from scheduler.planning.draft import Draft, Happened, Pull, Subject
from scheduler.planning.plan import Stopped
from scheduler.planning.task_ids import card_slug, slug_of
from scheduler.quantities import say
from scheduler.rules.amounts import condition
from scheduler.rules.environment import Environment
from scheduler.rules.rule_set import LoadedStop, Rules
from scheduler.rules.templates import render

NO_KILL = frozenset({"never lethal", "lethal by its reading alone", "record never lethal"})  # refusals of an estimate that a stop without a condition answers


def reached_by_foulbrood(pulls: Sequence[Pull], rules: Rules, happened: Happened) -> frozenset[str]:
    """
    The lots ("ridge-2/a") that foulbrood reaches: those of a harvest with a hive in which it is suspected, those that say so themselves, and
    those worked with the same gear since one of these was.

    Opening a lot is the first work on it that brings it to the table.
    """
    opening = {card_slug(card.name) for card in rules.cards if "table" in card.card.brings_to}
    opened: dict[str, list[int]] = {}
    for task, at in [*happened.begun.items(), *((task, start) for task, (start, _) in happened.done.items())]:
        if slug_of(task) in opening:
            opened.setdefault(task.rpartition("/")[0], []).append(at)
    of_lots = {Subject(pull.season, pull.harvest.harvest, lot.id).path(): (pull, lot) for pull in pulls for lot in pull.harvest.lots}
    found = {path for path, (pull, lot) in of_lots.items() if lot.disease == "foulbrood" or not happened.foulbrood.keys().isdisjoint(pull.harvest.hives)}
    since = min((min(opened[path]) for path in found if path in opened), default=None)
    if since is not None:
        found |= {path for path in of_lots if path in opened and max(opened[path]) >= since}
    found |= {made for made, parents in happened.parents.items() if not found.isdisjoint(parents)}
    return frozenset(found)


def of_dead_colonies(pulls: Sequence[Pull], happened: Happened) -> dict[str, str]:
    """The lots ("ridge-2/a") of a harvest with a hive whose colony died of what is not known or may be in the comb, with the names of these hives."""
    return {
        Subject(pull.season, pull.harvest.harvest, lot.id).path(): ", ".join(dead)
        for pull in pulls
        if (dead := [hive for hive in pull.harvest.hives if hive in happened.died])
        for lot in pull.harvest.lots
    }


def hold_back(drafts: Sequence[Draft], rules: Rules, happened: Happened, names: Callable[[str, Subject], Environment]) -> tuple[Stopped, ...]:
    """
    Mark every open draft that a stop holds back, and say what each stop holds. `names` gives what a rule set's expressions see of a subject.

    What is done, skipped or begun stays as it is: hands were there first.
    """
    found: dict[tuple[str, str], Stopped] = {}
    judged: dict[tuple[int, Subject], bool] = {}
    for draft in drafts:
        if draft.id in happened.done or draft.id in happened.skipped or draft.begun is not None:
            continue
        for number, stop in enumerate(rules.stops):
            key = number, draft.subject
            if not stop.stop.holds_back or set(draft.card.card.brings_to).isdisjoint(stop.stop.holds_back) or draft.stream not in stop.stop.for_:
                continue
            if stop.stop.when is None:
                holds = draft.refusal is not None and draft.refusal.kind in NO_KILL and draft.card.key not in rules.has_alternative
            else:
                if key not in judged:
                    judged[key] = condition(stop.stop.when, names(stop.set, draft.subject))
                holds = judged[key]
            if holds:
                draft.held, draft.refusal = stop.kind, None
                stopped = _stopped(stop, names(stop.set, draft.subject), rules)
                of = found.setdefault((stop.kind, stopped.says), stopped)
                path = draft.subject.path() if draft.subject.harvest else ""
                if path and path not in of.lots:
                    found[stop.kind, stopped.says] = of._replace(lots=(*of.lots, path))
                break
    return tuple(found.values())


def _stopped(stop: LoadedStop, env: Environment, rules: Rules) -> Stopped:
    meanwhile = render(stop.stop.meanwhile, env) if stop.stop.meanwhile else None
    cautions = tuple(rules.caution_words[name] for name in stop.stop.caution)
    by = render(stop.stop.by, env) if stop.stop.by else None
    return Stopped(stop.kind, (), render(stop.stop.say, env), meanwhile, render(stop.stop.goes_on, env), cautions, by)


def withhold_followers(drafts: Sequence[Draft], happened: Happened) -> None:
    """
    Give no time to what follows a task without one: it is held back by the same stop, or cannot be done either.

    A card of the whole harvest or season waits for many lots. Where nothing of a lot's work up to the one it waits for will ever be done, as with
    wet frames that are never spun, there is nothing to wait for: that relation goes.
    """
    by_id = {draft.id: draft for draft in drafts}
    changed = True
    while changed:
        changed = False
        for draft in drafts:
            if draft.held is not None or draft.refusal is not None or draft.id in happened.done or draft.id in happened.skipped or draft.begun is not None:
                continue
            for before in [by_id[link.task] for link in draft.links if link.task in by_id and not by_id[link.task].has_time]:
                met = before.subject.path() in happened.parents.get(draft.subject.path(), ())
                if met or _within(draft.subject, before.subject) or _goes_on(before, by_id):
                    draft.held = before.held
                    draft.refusal = None if before.held else say("waits for the impossible", before=before.title)
                    changed = True
                    break
                draft.links = [link for link in draft.links if link.task != before.id]


def _within(subject: Subject, wider: Subject) -> bool:
    """Whether a subject is the other one, or a lot, harvest or hive inside it."""
    whole = wider.season in (subject.season, subject.year) and wider.harvest in (None, subject.harvest)
    return whole and wider.lot in (None, subject.lot) and wider.hive in (None, subject.hive)


def _goes_on(draft: Draft, by_id: Mapping[str, Draft]) -> bool:
    """Whether work of the same lot that leads up to a task will be done, or was."""
    return any(before.has_time or _goes_on(before, by_id) for before in _before(draft, by_id))


def _before(draft: Draft, by_id: Mapping[str, Draft]) -> Iterator[Draft]:
    yield from (by_id[link.task] for link in draft.links if link.task in by_id and by_id[link.task].subject == draft.subject)
