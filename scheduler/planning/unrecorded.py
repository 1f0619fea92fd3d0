"""What is so though nobody records it: a limit is reached, a hold without hands begins by itself, and what was to begin just now is under way."""

from __future__ import annotations

from collections.abc import Sequence

from scheduler.planning.draft import Draft
from scheduler.planning.network import FROM_FINISH, OF_FINISH
from scheduler.planning.problem import Problem


def reached(problem: Problem, drafts: Sequence[Draft]) -> Problem:
    """The problem with what is only a limit of other work done once all of that is: nobody marks it by itself."""
    done, skipped = dict(problem.happened.done), problem.happened.skipped
    for draft in drafts:
        if draft.begin or draft.end or draft.open_begin or draft.id in done or draft.id in skipped or any(mode.hold for mode in draft.modes):
            continue
        before = [link.task for link in draft.links]
        if before and all(name in done or name in skipped for name in before):
            at = max(done[name][1] if name in done else skipped[name][0] for name in before)
            done[draft.id] = (at, at)
    return problem if len(done) == len(problem.happened.done) else problem._replace(happened=problem.happened._replace(done=done))


def begin_by_themselves(drafts: Sequence[Draft], problem: Problem) -> None:
    """Begin each hold that no hands begin and that lies in nothing, once all that it waits for is done or begun: nobody marks it."""
    happened = problem.happened
    began = {draft.id: draft.release for draft in drafts if draft.begun is not None}
    over = dict(happened.done) | {name: (at, at) for name, (at, _) in happened.skipped.items()}
    for draft in drafts:
        known = draft.begun is not None or draft.id in over or not draft.has_time
        if known or draft.begin or draft.open_begin or not draft.links or any(not mode.hold or mode.demands for mode in draft.modes):
            continue
        moments = []
        for link in draft.links:
            ends = over.get(link.task)
            from_finish = link.kind in FROM_FINISH
            if link.kind in OF_FINISH or (ends is None and (from_finish or link.task not in began)):
                break
            moments.append(link.least + (ends[from_finish] if ends is not None else began[link.task]))
        else:
            at = max([*moments, draft.nominal])
            if at <= problem.as_of and draft.id not in happened.put_off:
                draft.begun = draft.release = began[draft.id] = at


def under_way(drafts: Sequence[Draft], problem: Problem) -> None:
    """Let work that the plan in force has begun by now, and not over, go on where it is: what is recorded meanwhile is no reason to begin it anew."""
    kept = problem.in_force.tasks if problem.in_force else {}
    for draft in drafts:
        was = kept.get(draft.id)
        if was is None or not was.sittings or draft.begun is not None or not draft.has_time or draft.id in problem.happened.put_off:
            continue
        start, end = was.sittings[0]
        begins = max(draft.nominal, was.release)
        if begins <= start < problem.as_of < end and draft.begin == sum(b - a for a, b in was.sittings) and draft.release == problem.as_of:
            draft.release = start
