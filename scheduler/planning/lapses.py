"""Looks that nobody answered, and steps that were for one that is done by now: they go quietly, and the next look says how long ago anybody looked."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from scheduler.local_time import DAY
from scheduler.planning.draft import Draft
from scheduler.planning.objective import COMFORT
from scheduler.planning.problem import Problem
from scheduler.planning.task_ids import card_slug, path_of, slug_of
from scheduler.quantities import elapsed, say

UNANSWERED = 7 * DAY  # a look that does not come again lapses so long after it was due [s]; assumed


def lapse(drafts: Sequence[Draft], problem: Problem, opens: Callable[[Draft, int], int | None]) -> None:
    """
    Mark every look that lapsed: when its next repetition begins, else a week after it was due; and what was only for a step that is under way.

    `opens` says when the hours and windows of a draft are next open after a moment [s since 1970]. A look does not lapse before it could be done:
    what it waits for has to be over. Nothing waits for a lapsed one any more.
    """
    looks = [draft for draft in drafts if draft.card.card.lapses and _is_open(draft, problem)]
    by_id = {draft.id: draft for draft in drafts}
    _overtaken(drafts, by_id, problem)
    happened = problem.happened
    over = {name: finish for name, (_, finish) in happened.done.items()} | {name: at for name, (at, _) in happened.skipped.items()}
    over |= {draft.id: draft.lapsed for draft in drafts if draft.lapsed is not None}
    again = {draft.links[0].task: draft for draft in drafts if draft.repetition is not None and draft.links}
    for look in looks:  # repetitions stand in their order, so that one is judged after the one before it
        since = _could_be_done(look, over, by_id, opens)
        if since is None:
            continue
        follows = again.get(look.id)
        until = _begins_again(follows, look, since, over) if follows is not None else max(since, look.due or since) + UNANSWERED
        if until <= problem.as_of:
            look.lapsed, over[look.id] = since, since
    for draft in drafts:
        kept = [link for link in draft.links if by_id.get(link.task, draft).lapsed is None]
        if len(kept) < len(draft.links):
            draft.links = kept
            _say_last_seen(draft, problem)


def _overtaken(drafts: Sequence[Draft], by_id: Mapping[str, Draft], problem: Problem) -> None:
    """Mark comfort that only made something ready, which was to follow within a time and has begun: supers are not warmed once they are spun."""
    happened = problem.happened
    since = {**happened.begun, **{name: start for name, (start, _) in happened.done.items()}}
    for draft in drafts:
        for link in draft.links if draft.id in since else ():
            before = by_id.get(link.task)
            if before is None or link.greatest is None or before.card.card.loss != COMFORT or before.card.is_told_singly or before.lapsed is not None:
                continue
            if _is_open(before, problem):
                before.lapsed, before.overtaken_by = since[draft.id], draft.title


def _begins_again(follows: Draft, look: Draft, since: int, over: Mapping[str, int]) -> int:
    """When the repetition after a look that could have been done since a moment begins."""
    return max((since if link.task == look.id else over.get(link.task, since)) + link.least for link in follows.links)


def _is_open(draft: Draft, problem: Problem) -> bool:
    happened = problem.happened
    return draft.has_time and draft.begun is None and draft.id not in happened.done and draft.id not in happened.skipped


def _could_be_done(look: Draft, over: Mapping[str, int], by_id: Mapping[str, Draft], opens: Callable[[Draft, int], int | None]) -> int | None:
    """From when it could have been done; None while something that it waits for is not over."""
    moments = [look.nominal]
    for link in look.links:
        if link.task not in over and link.task in by_id:
            return None
        moments.append(over.get(link.task, look.nominal) + link.least)
    return opens(look, max(moments))


def _say_last_seen(draft: Draft, problem: Problem) -> None:
    """Say of the look that follows lapsed ones how long ago anybody looked, where that is recorded."""
    of = draft.card.name, draft.subject.path()
    done = problem.happened.done
    seen = max((finish for name, (_, finish) in done.items() if (slug_of(name), path_of(name)) == (card_slug(of[0]), of[1])), default=None)
    if seen is not None and draft.card.card.lapses and draft.lapsed is None:
        draft.title = say("last seen", title=draft.title, ago=elapsed(problem.as_of - seen))
