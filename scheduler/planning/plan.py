"""The answer to a person: a schedule with its warnings and its reasons. Times are whole seconds since 1970 UTC."""

from dataclasses import dataclass
from typing import NamedTuple

from scheduler.facts.hours import Hours
from scheduler.quantities import Statement, Words
from scheduler.rules.schema import Loss, Status

WITHOUT_TIME: tuple[Status, ...] = ("held back", "impossible", "lapsed")
OPEN: tuple[Status, ...] = ("planned", "provisional")  # its work is still to come


class Reason(NamedTuple):
    """Why a date or a duration is what it is.

    `label` is short and stable ("estimate freeze_hold", "parameter drain floor", "window dusk", "after pack", "resource freezer",
    "season robbing", "hands"); `rule` is "file:line card"; `sources` are citations.
    """

    label: str
    says: Statement
    rule: str = ""
    sources: tuple[str, ...] = ()


class Told(NamedTuple):
    """An alert of the plan: when and what."""

    at: int
    say: Words


class Link(NamedTuple):
    """A precedence to an earlier task: RFC 9253 kind, least and greatest lag, and how much less than the least it may be where it was published so [s]."""

    task: str
    kind: str = "finish to start"
    least: int = 0
    greatest: int | None = None
    early: int = 0
    apart: bool = False  # only where both lie in one freezer: no step of the work


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedTask:
    """A task with its times: begin phase (hands), hold (nobody), end phase (hands)."""

    id: str
    rule: str  # "set/card"
    title: Words  # of the card, with how much is left
    stream: str  # "cut comb", ... , "harvest", "yard", "hive"
    harvest: str
    lot: str | None
    batch: int | None
    status: Status
    start: int  # of a task without a time only where it is listed
    hold_done: int | None  # the earliest moment the hold may end; None where there is no hold
    finish: int
    due: int | None
    links: tuple[Link, ...]
    occupies: tuple[tuple[str, float], ...]
    hands: tuple[tuple[int, int], ...]  # the hands-on phases: begin and, where there is one, end
    alerts: tuple[Told, ...]
    reasons: tuple[Reason, ...]
    cautions: tuple[str, ...]
    loss: Loss
    place: str = "honey room"  # of its card, or an apiary by its name
    way: int = 0  # how long the way there from the house is [s]
    person: str | None = None  # who does it; the keeper where None
    together: bool = False  # and the keeper with them
    count: float = 0.0  # units in the batch (pieces, packages, frames); 0 where the task is not counted in units
    left: float = 0.0  # how many of these were not yet told as done
    held_by: str | None = None  # the kind of stop that holds it back
    alongside: str | None = None  # the task of whose checklist it is a line
    begun: bool = False  # the work before its hold is recorded; it starts with that work
    worked: int = 0  # and took so long [s]
    release: int = 0  # since when its own dates let it begin
    work: tuple[int, int] = (0, 0)  # how long the work before and after its hold takes by the card [s]
    closing_name: str = ""  # what the work after its hold is called in a title ("take out")
    closing_title: str = ""
    handles: tuple[str, ...] = ()  # food and what must not be near it
    sun_tied: bool = False  # its work is wanted about an event of the sun
    all_day: bool = False  # it belongs to a day, not to an hour
    how: str = ""  # how it is done, in a line
    by: str = ""  # the command that says so
    lies: Words = ""  # in which freezer or on which rack, where there are several, and whether with air between
    briefs: tuple[str, ...] = ()  # its cautions in a few words
    hive: str = ""  # the hive it is of, by its name, where its card is for each

    @property
    def is_open(self) -> bool:
        """Whether its work is still to come."""
        return self.status in OPEN

    @property
    def has_time(self) -> bool:
        """Whether it has a time: no stop holds it back, it is possible, and it has not lapsed."""
        return self.status not in WITHOUT_TIME

    @property
    def people(self) -> tuple[str | None, ...]:
        """Who does it, the keeper being None."""
        return (self.person, None) if self.together else (self.person,)

    @property
    def sittings(self) -> tuple[tuple[int, int], ...]:
        """The hands-on work before the hold; more than one where it was too long for a free span."""
        hold_done, hands = self.hold_done, self.hands
        return hands if hold_done is None or not hands or hands[-1][0] < hold_done else tuple(span for span in hands if span[0] < hold_done)

    @property
    def closing(self) -> tuple[tuple[int, int], ...]:
        """The hands-on work after the hold."""
        return self.hands[len(self.sittings) :]

    @property
    def limit(self) -> bool:
        """Whether it is only a moment by which other work is to be over: nobody works on it and nothing holds."""
        return self.is_open and not self.hands and self.hold_done is None and self.due is not None

    @property
    def holds_from(self) -> int:
        """When the hold begins: once the work before it is over."""
        return self.sittings[-1][1] if self.sittings else self.start + self.worked


QUESTIONS = (
    "pull not told",
    "harvest of no apiary",
    "treatment not chosen",
    "unanswered",
    "ticked early",
    "to mind",
)  # kinds of warning that ask or say what to mind, and breach nothing


class Warning(NamedTuple):
    """A limit that is not met: its kind, the task it is about, and what there is to say: by how much, and the smallest change that would cure it."""

    kind: str
    task: str | None
    says: Statement


class Stopped(NamedTuple):
    """A stop: its kind, the lots it holds ("ridge-2/a"; none where it is of the yard), why, how they are kept meanwhile, what lets them go on, by what word."""

    kind: str
    lots: tuple[str, ...]
    says: str
    meanwhile: str | None
    goes_on: str
    cautions: tuple[str, ...] = ()
    by: str | None = None

    @property
    def to_go_on(self) -> str:
        """What lets them go on, with the command."""
        return f"{self.goes_on}: {self.by}" if self.by else self.goes_on


class Plan(NamedTuple):
    """What has to be done, when and why. `tasks` are in order of start, then id."""

    yard: str
    timezone: str
    units: str
    as_of: int
    tasks: tuple[PlannedTask, ...]
    warnings: tuple[Warning, ...]
    stops: tuple[Stopped, ...] = ()
    quiet: Hours | None = None  # when no alarm rings that can wait


def checklists(plan: Plan) -> dict[str, list[PlannedTask]]:
    """The lines of checklists that are still open, by the id of the step they belong to."""
    found: dict[str, list[PlannedTask]] = {}
    for task in plan.tasks:
        if task.alongside is not None and task.is_open:
            found.setdefault(task.alongside, []).append(task)
    return found
