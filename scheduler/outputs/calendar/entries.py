"""What stands in a calendar: events for sittings, limits and ends of holds; to-dos, one a task; holds where they are wanted."""

from collections.abc import Collection, Mapping

from scheduler.local_time import DAY
from scheduler.outputs.calendar.entry import Entry, EntryCache
from scheduler.outputs.calendar.events import Events
from scheduler.outputs.calendar.todos import Todos
from scheduler.outputs.calendar.uids import entry_uid
from scheduler.planning.plan import Plan, PlannedTask
from scheduler.planning.sittings import Sitting, sittings

HORIZON = 21 * DAY  # s ahead that a calendar shows, and the next of each series beyond it; DESIGN


def entries(
    plan: Plan,
    *,
    todos: bool = False,
    holds: bool = False,
    streams: Collection[str] | None = None,
    evenings: Collection[Sitting] | None = None,
    acknowledged: Mapping[str, int] | None = None,
    cache: EntryCache | None = None,
) -> tuple[Entry, ...]:
    """
    The entries of a plan in order of start.

    `todos` makes to-dos instead of events; `holds` adds each hold as an event that takes no busy time; `streams` keeps only these; `evenings` are
    the sittings, where they were laid out before; `acknowledged` says which alarms of tasks (by UID) were dismissed, and when; `cache` keeps
    entries between two calls; only what changed is made again.
    """
    if streams is not None:
        plan = plan._replace(tasks=tuple(task for task in plan.tasks if task.stream in streams))
    dismissed, kept = acknowledged or {}, cache if cache is not None else {}
    if todos:
        return tuple(Todos(plan, dismissed, kept).all())
    here = sittings(plan.tasks, plan.timezone) if evenings is None or streams is not None else evenings
    return tuple(sorted(Events(plan, here, dismissed, kept).all(holds=holds), key=lambda one: (one.start, one.uid)))


def beyond(plan: Plan, evenings: Collection[Sitting]) -> frozenset[str]:
    """The UIDs of what lies more than three weeks ahead and is not the next of its series: no calendar shows it unless it is asked for."""
    near = near_tasks(plan)
    hidden = {entry_uid(one.id, "sitting", plan.yard) for one in evenings if not one.done and near.isdisjoint(one.tasks)}
    far = [task.id for task in plan.tasks if task.is_open and task.id not in near]
    hidden.update(entry_uid(task, phase, plan.yard) for task in far for phase in ("over", "limit", "hold"))
    return frozenset(hidden.union(entry_uid(task, "begin", plan.yard, todo=True) for task in far))


def near_tasks(plan: Plan) -> frozenset[str]:
    """The open tasks that begin within the horizon, and the next of each series of a card for the same lot."""
    coming = sorted((task for task in plan.tasks if task.is_open), key=lambda task: (task.start, task.id))
    following: dict[tuple[str, str, str | None], PlannedTask] = {}
    for task in coming:
        following.setdefault((task.rule, task.harvest, task.lot), task)
    return frozenset([task.id for task in coming if task.start < plan.as_of + HORIZON] + [task.id for task in following.values()])
