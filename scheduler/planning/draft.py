"""What expansion makes: a task with everything but its times, and where it belongs."""

from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from scheduler.estimates.freezer_air import AirRecord
from scheduler.facts.harvest import Harvest, lot_path
from scheduler.planning.network import Interval, Mode
from scheduler.planning.plan import Link, Reason
from scheduler.planning.windows import OpenWhen
from scheduler.quantities import Statement, Words
from scheduler.rules.rule_set import LoadedCard


class Pull(NamedTuple):
    """A harvest with its moment: the local time of the pull [s since 1970], the season it belongs to, and the apiary where the yard has several."""

    harvest: Harvest
    pulled: int
    season: str
    apiary: str | None = None


class Subject(NamedTuple):
    """What a card is about: one lot, one harvest, or the yard in one season ("2026"), or of several apiaries one of them in it ("2026-karst").

    Of a season also one hive, by its name as part of an id.
    """

    season: str
    harvest: str | None = None
    lot: str | None = None
    hive: str | None = None

    @property
    def year(self) -> str:
        """The season without the apiary: "2026"."""
        return self.season.partition("-")[0]

    def path(self) -> str:
        """The beginning of its tasks' ids."""
        whose = self.harvest or f"yard-{self.season}"
        part = self.lot or self.hive
        return lot_path(whose, part) if part else whose


@dataclass(slots=True)
class Draft:
    """A task before it has times."""

    id: str
    card: LoadedCard
    subject: Subject
    stream: str
    batch: int | None
    repetition: int | None
    title: Words
    begin: int
    end: int
    hours: str
    modes: tuple[Mode, ...]
    release: int
    nominal: int  # from when it could have been done by its card's own moments, whenever the plan is made
    due: int | None = None
    deadline: int | None = None
    until: int | None = None  # a repetition that could only start later falls away
    open_begin: tuple[OpenWhen, ...] = ()
    open_end: tuple[OpenWhen, ...] = ()
    alerts: tuple[tuple[str, int, str], ...] = ()  # at, seconds before, words
    links: list[Link] = field(default_factory=list)
    reasons: list[Reason] = field(default_factory=list)  # the rule first
    holds: tuple[tuple[Reason, ...], ...] = ()  # why it holds as long as it does, by mode
    cautions: tuple[str, ...] = ()
    provisional: Statement | None = None  # why its date is not firm
    count: float = 0.0  # units of its work: of the batch, or as the card counts them
    begun: int | None = None  # its first hands-on part is over and the hold runs since then
    refusal: Statement | None = None  # why it cannot be done at all
    bound: bool = False  # and nobody else may do it
    person: str | None = None  # whose hands it takes; the keeper's where None
    shared: float | None = None  # the share of its hands-on time that it takes where the keeper joins who does it; None: that is of no use
    together: bool = False  # and the keeper does
    work: tuple[int, int] = (0, 0)  # how long the work before and after its hold takes by the card [s]
    closing: tuple[str, str] = ("", "")  # what the work after its hold is called, and its title
    worked: int = 0  # of one that was begun: how long the work before its hold took, as it was planned [s]
    how: str = ""  # how it is done, in a line
    by: str = ""  # the command that says so
    briefs: tuple[str, ...] = ()  # its cautions in a few words
    held: str | None = None  # the kind of stop that holds it back, or holds back what it follows
    alongside: str | None = None  # the task of whose checklist it is a line
    asked: tuple[int, int] | None = None  # weeks past any sense and not told of: start and finish as they were planned
    at: str | None = None  # the apiary that its work is at, where the yard has several; None at the house
    there: str | None = None  # the equipment that its work takes whole, where that is there at times only and the yard has no other
    way: int = 0  # how long what was pulled is on the way to where it is worked [s]
    hive: str = ""  # the hive it is of, by its name, where its card is for each
    lapsed: int | None = None  # a look that nobody answered: from when it could have been done; or since when what it was for is under way
    overtaken_by: Words = ""  # the title of that

    @property
    def place(self) -> str:
        """Where its hands are wanted: an apiary by its name where the yard has several, else as its card has it."""
        return self.at or self.card.card.place

    @property
    def has_time(self) -> bool:
        """Whether it is to be placed: nothing holds it back, it is possible, has not lapsed, and is no line of another task's checklist."""
        return self.held is None and self.refusal is None and self.alongside is None and self.lapsed is None


class Treatment(NamedTuple):
    """A treatment of one hive, or of every hive ("all"): when it began and ended [s since 1970], and its active ingredient where that was said."""

    hive: str
    begins: int
    ends: int | None = None
    active: str | None = None
    ended: tuple[tuple[str, int], ...] = ()  # hives for which one of every hive ended by itself, and when


class Want(NamedTuple):
    """So many packages or jars of a lot ("ridge-2/a") by a moment, the `number`th want of that lot [s since 1970]."""

    lot: str
    what: str
    number: int
    units: int
    by: int


class Kept(NamedTuple):
    """Where the plan in force has a task: its hands before and after its hold, what it lies in, and since when its own dates let it begin."""

    start: int
    finish: int
    sittings: tuple[Interval, ...]
    end_sittings: tuple[Interval, ...]
    resources: tuple[str, ...]
    release: int


class InForce(NamedTuple):
    """The plan in force: its open tasks, how many units each batch has, and whether facts about anything but tasks came since."""

    tasks: Mapping[str, Kept]
    counts: Mapping[str, float] = {}
    changed: bool = False


class Happened(NamedTuple):
    """What the ledger tells of tasks, by id: done (start and finish), begun (when its hold began), done in part (units, or seconds of work), skipped (when and
    because), put off (until); the recorded air by freezer, and what the core of a lot was read at ("ridge-2/a": moments and °C); hives in which
    foulbrood is suspected (since when), or whose colony died of what is not known or may be in the comb, and every hive whose colony died, and when; by
    harvest the hives in whose supers brood or the queen was seen; treatments of hives
    in order, lots that the keeper lets go on (when and because), lots in whose comb live larvae were seen ("seen",
    or "over" once the keeper found none any more), and what is wanted of lots by when."""

    begun: Mapping[str, int] = {}
    partly: Mapping[str, float] = {}
    worked: Mapping[str, int] = {}
    done: Mapping[str, tuple[int, int]] = {}
    skipped: Mapping[str, tuple[int, str]] = {}
    put_off: Mapping[str, int] = {}
    air: Mapping[str, AirRecord] = {}
    core: Mapping[str, Sequence[tuple[int, float]]] = {}
    foulbrood: Mapping[str, int] = {}
    died: Mapping[str, int] = {}
    dead: Mapping[str, int] = {}
    queen_above: Mapping[str, Sequence[str]] = {}
    treatments: Sequence[Treatment] = ()
    released: Mapping[str, tuple[int, str]] = {}
    larvae: Mapping[str, str] = {}
    wants: Sequence[Want] = ()
    parents: Mapping[str, Sequence[str]] = {}  # of lots that others met in, by path
    reckoned: Container[str] = ()  # lots whose moisture nobody read: it follows from those that met


NOTHING = Happened()


def before_all(link: Link, fallen: Mapping[str, Draft]) -> Link:
    """A link to the last repetition that is left of those before a fallen one, each of which follows the one before it."""
    while link.task in fallen:
        link = link._replace(task=fallen[link.task].links[0].task)
    return link
