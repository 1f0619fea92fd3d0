"""What a keeper records once the work has begun, and which of these facts count after corrections. Facts are frozen and never edited."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Annotated, Any, ClassVar, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from scheduler.diagnostics import Fault, instead
from scheduler.local_time import AFTER_LATEST, EARLIEST, FIRST_YEAR, LAST_YEAR
from scheduler.quantities import show

VERSION = 1  # of the JSON below; raised when a field changes its meaning, not when an optional one is added
SeriesKind = Literal["freezer", "store", "scale", "weather"]
TABLES: tuple[SeriesKind, ...] = ("scale", "weather")  # of the season, a row a day; the others are logs
WantedKind = Literal["packages", "jars"]

# What can be read off an instrument, with the least and greatest value that is not a slip of the pen (assumed; SI).
READINGS: dict[str, tuple[str, float, float]] = {
    "moisture": ("share", 0.10, 0.40),
    "yeast": ("count", 0.0, 1e9),  # per gram
    "comb temperature": ("temperature", -60.0, 60.0),
    "core temperature": ("temperature", -60.0, 60.0),
    "freezer temperature": ("temperature", -100.0, 40.0),
    "ice point": ("temperature", -10.0, 10.0),  # what a freezer's thermometer shows in melting ice, which is 0 °C
    "store temperature": ("temperature", -60.0, 60.0),
    "store humidity": ("share", 0.0, 1.0),
    "room temperature": ("temperature", -60.0, 60.0),
    "room humidity": ("share", 0.0, 1.0),
    "outdoor temperature": ("temperature", -60.0, 60.0),
    "mass": ("mass", 0.0, 1e5),
}

Moment = Annotated[int, Field(ge=EARLIEST, lt=AFTER_LATEST)]
Name = Annotated[str, Field(min_length=1, max_length=200)]
Names = Annotated[tuple[Name, ...], Field(strict=False, max_length=2)]  # an array in JSON
FactId = Annotated[str, Field(pattern=r"^[0-9a-f]{32}$")]


class Fact(BaseModel):
    """Something that happened at `occurred_at`; `replaces` is the id of a fact it corrects; `by` is who told it."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False, defer_build=True)
    kind: ClassVar[str]
    occurred_at: Moment
    replaces: FactId | None = None
    by: Name | None = None

    def __init__(self, /, **fields: Any) -> None:
        """Raises `Fault` where a value cannot be."""
        try:
            super().__init__(**fields)
        except ValidationError as error:
            raise _fault(self.kind, error) from None
        except UnicodeEncodeError as error:  # half a character, which no encoding has
            raise Fault(f"{error.object[:60]!a} holds what is no character", "the fact again, or a backup") from None


class HarvestLogged(Fact):
    """A harvest file as it was written; logging the same harvest again takes the place of the earlier text."""

    kind: ClassVar[str] = "harvest-logged"
    harvest: Name
    text: str
    path: str


class HarvestPulled(Fact):
    """The supers of a harvest that was planned are off; `without_bees` [s], where it is known, is how long before that the bees left them."""

    kind: ClassVar[str] = "harvest-pulled"
    harvest: Name
    without_bees: Annotated[float, Field(ge=0, le=14 * 86400)] | None = None


class YardSet(Fact):
    """The yard file as it was written."""

    kind: ClassVar[str] = "yard-set"
    text: str
    path: str


class TaskFact(Fact):
    """What became of a task, by its id."""

    task: Name


class TaskBegun(TaskFact):
    """The first hands-on part of a task is over and its hold runs."""

    kind: ClassVar[str] = "task-begun"


class TaskDone(TaskFact):
    """A task was finished at `occurred_at`; `started_at` where it is known; `amount` where only part of it was done (6 of 10 pieces).

    `worked` instead, where part of it was done in so many seconds of work; `hives` where it was done of these.
    """

    kind: ClassVar[str] = "task-done"
    started_at: Moment | None = None
    amount: Annotated[float, Field(ge=0, le=1e9)] | None = None
    worked: Annotated[int, Field(gt=0, le=10**9)] | None = None
    hives: Annotated[tuple[Name, ...], Field(max_length=1000, strict=False)] | None = None  # a list in JSON

    @model_validator(mode="after")
    def _forwards(self) -> Self:
        if self.started_at is not None and self.started_at > self.occurred_at:
            raise Fault("the task ends before it starts", "a start that is not later than the end")
        return self


class TaskSkipped(TaskFact):
    """A task will not be done, and why."""

    kind: ClassVar[str] = "task-skipped"
    because: Annotated[str, Field(min_length=1)]


class TaskPutOff(TaskFact):
    """A task is not to start before `until`."""

    kind: ClassVar[str] = "task-put-off"
    until: Moment


class Reading(Fact):
    """A value read off an instrument: of a lot ("ridge-2/a"), a harvest, or a piece of equipment. `value` is SI; shares are 0 to 1."""

    kind: ClassVar[str] = "reading"
    of: Name
    what: str
    value: float

    @model_validator(mode="after")
    def _plausible(self) -> Self:
        if self.what not in READINGS:
            raise Fault(f'"{self.what}" is not measured here', instead(self.what, READINGS))
        dimension, low, high = READINGS[self.what]
        if not low <= self.value <= high:
            possible = f"between {show(low, dimension)} and {show(high, dimension)} is possible"
            raise Fault(f"{self.what}: {show(self.value, dimension)} cannot be; {possible}", "the reading again, with its unit")
        return self


class Observed(Fact):
    """A mark of the season was seen on a day: "first frost", "main flow ends", "first bloom of lime"; at one apiary only where `of` names it."""

    kind: ClassVar[str] = "observed"
    mark: Name
    on: Annotated[date, Field(strict=False)]  # a day is text in JSON
    of: Name | None = None


class HiveDisease(Fact):
    """Foulbrood is suspected in a hive, or the inspector did not confirm it."""

    kind: ClassVar[str] = "hive-disease"
    hive: Name
    suspected: bool


class HiveDied(Fact):
    """The colony of a hive died; `cause` is what the keeper found, one of `CAUSES`, and None until then."""

    kind: ClassVar[str] = "hive-died"
    hive: Name
    cause: Name | None = None


class QueenAbove(Fact):
    """Brood or the queen was seen in a super that came off a hive with a harvest."""

    kind: ClassVar[str] = "queen-above"
    harvest: Name
    hive: Name


CAUSES = {  # of a dead colony: whether its comb may go onto another hive; common practice
    "starved": True,
    "cold": True,
    "queen lost": True,
    "robbed": True,
    "mites": True,
    "poisoned": False,
    "disease": False,
    "foulbrood": False,
    "unknown": False,
}


class HiveTreatment(Fact):
    """A treatment of a hive begins or ends; of every hive of the apiary where `hive` is "all".

    `active` is the active ingredient; `product` and `batch` are what stands on the package, which a medicine record names.
    """

    kind: ClassVar[str] = "hive-treatment"
    hive: Name
    begins: bool
    active: Name | None = None
    product: Name | None = None
    batch: Name | None = None


class LotReleased(Fact):
    """The keeper lets a lot go on that a stop held back ("ridge-2/a"), and why."""

    kind: ClassVar[str] = "lot-released"
    lot: Name
    because: Annotated[str, Field(min_length=1)]


class LotsMet(Fact):
    """Lots `of` extracted honey ("ridge-2/b", "ridge-2/c") went into one vessel and are a new `lot` from then on."""

    kind: ClassVar[str] = "lots-met"
    lot: Name
    of: Annotated[tuple[Name, ...], Field(min_length=2, max_length=50, strict=False)]  # a list in JSON


class LarvaeSeen(Fact):
    """A live larva was seen in comb of a lot ("ridge-2/a"), or, frozen again and looked through, none any more."""

    kind: ClassVar[str] = "larvae-seen"
    lot: Name
    seen: bool


class Wanted(Fact):
    """So many packages or jars of a lot ("ridge-2/a") are wanted by a moment; `who` is whoever wants them.

    `number` tells the wants of a lot apart for good. `who` is never shown outside the ledger.
    """

    kind: ClassVar[str] = "wanted"
    lot: Name
    what: WantedKind
    number: Annotated[int, Field(ge=1, le=10_000)]
    count: Annotated[int, Field(ge=1, le=100_000)]
    until: Moment
    who: str = ""


class SeriesRecorded(Fact):
    """
    The text of a file of times and values from an instrument `of` the yard, taken over whole, with what the keeper told of its reading.

    `digest` is the SHA-256 of the file's bytes, `zone` that of times which name none, `dates` the order of the numbers of a date, `columns` what was
    measured and `times` when. A fact without `zone` is of a version that asked less: its text is read as that did.
    """

    kind: ClassVar[str] = "series-recorded"
    of: Name
    what: SeriesKind
    text: str
    path: str
    column: Name | None = None
    unit: Literal["C", "F", "kg", "lb", "g"] | None = None
    digest: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")] | None = None
    columns: Names | None = None
    times: Names | None = None
    zone: Name | None = None
    dates: Literal["day first", "month first", "year first"] | None = None


class SettingChanged(Fact):
    """A setting of the keeper's: its name and its value as written."""

    kind: ClassVar[str] = "setting-changed"
    name: Name
    value: str


class AlertAcknowledged(Fact):
    """Somebody has seen an alert."""

    kind: ClassVar[str] = "alert-acknowledged"
    alert: Name


class Retracted(Fact):
    """The fact named by `replaces` is taken back; nothing stands in its place."""

    kind: ClassVar[str] = "retracted"
    because: str | None = None

    @model_validator(mode="after")
    def _names_one(self) -> Self:
        if self.replaces is None:
            raise Fault("what is taken back is not named", "the id of the fact")
        return self


_STARTING = (HarvestLogged, HarvestPulled, YardSet, SeriesRecorded, SettingChanged)
_TASKS = (TaskBegun, TaskDone, TaskSkipped, TaskPutOff, AlertAcknowledged)
OF_TASKS = tuple(one.kind for one in _TASKS)  # what became of tasks
_OF_HIVES_AND_LOTS = (HiveDisease, HiveDied, QueenAbove, HiveTreatment, LotReleased, LarvaeSeen, LotsMet, Wanted)
KINDS: dict[str, type[Fact]] = {one.kind: one for one in (*_STARTING, *_TASKS, *_OF_HIVES_AND_LOTS, Reading, Observed, Retracted)}


def to_json(fact: Fact) -> str:
    """One line of JSON; the same fact always gives the same text. Raises `Fault` on text that is not Unicode."""
    fields = fact.model_dump(mode="json", exclude_none=True)
    text = json.dumps({"kind": fact.kind, "v": VERSION, **fields}, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    try:
        text.encode()
    except UnicodeEncodeError:
        raise Fault(f"a {fact.kind} fact holds text that is not Unicode", "the text again, saved with the encoding UTF-8") from None
    return text


def from_json(text: str) -> Fact:
    """The fact that `to_json` wrote. Raises `Fault` where it is damaged, of an unknown kind or from a newer program."""
    try:
        fields = json.loads(text)
    except (ValueError, TypeError, RecursionError):  # of a damaged ledger, not even text
        raise Fault(f"this is not a fact: {str(text)[:60]!r}", "a line as the export wrote it") from None
    return from_fields(fields)


def from_fields(fields: Any) -> Fact:
    """The fact in a mapping that was parsed from JSON; see `from_json`."""
    if not isinstance(fields, dict):
        raise Fault("this is not a fact", "a line as the export wrote it")
    kind, version = fields.get("kind"), fields.get("v")
    if not isinstance(version, int) or isinstance(version, bool) or version < 1:
        raise Fault("the fact does not say its version", f'"v": {VERSION}')
    if version > VERSION:
        raise Fault(f"the fact is of version {version}; this program reads up to {VERSION}", "it with a newer afterpull")
    if not isinstance(kind, str) or kind not in KINDS:
        raise Fault(f'the kind "{kind}" is not known here', f"{instead(str(kind), KINDS)}, or read it with a newer afterpull")
    return KINDS[kind](**{str(key): value for key, value in fields.items() if key not in ("kind", "v")})


def _fault(kind: str, error: ValidationError) -> Fault:
    first = error.errors(include_url=False)[0]
    cause = first.get("ctx", {}).get("error")
    if isinstance(cause, Fault):
        return cause
    if first["type"] == "extra_forbidden":
        return Fault(f'{kind}: unknown key "{first["loc"][-1]}"', f"one of: {', '.join(KINDS[kind].model_fields)}")
    if {EARLIEST, AFTER_LATEST} & {*first.get("ctx", {}).values()}:
        return Fault(f"{kind}: {first['loc'][-1]}: it lies outside the years {FIRST_YEAR} to {LAST_YEAR}", "the moment that is meant")
    return Fault(f"{kind}: {' > '.join(map(str, first['loc']))}: {first['msg'][:1].lower()}{first['msg'][1:]}", "a value that can be")


@dataclass(frozen=True, slots=True)
class Recorded:
    """A fact as the ledger keeps it: its place in the order of writing, its id for life, and when it was written down [epoch s]."""

    sequence: int
    id: str
    recorded_at: int
    fact: Fact


def in_force(facts: Iterable[Recorded]) -> tuple[Recorded, ...]:
    """
    The facts that count, by when they occurred and then by when they were written down.

    A fact is out while one that stands replaces it. Of several that replace the same fact the one written last counts. Taking back a
    correction lets the corrected fact stand again; taking back a retraction lets its fact stand again; retractions are never in the result.
    """
    by_id = {one.id: one for one in facts}
    gone: set[str] = set()
    left: list[Recorded] = []
    for one in sorted(by_id.values(), key=lambda one: one.sequence, reverse=True):
        named = one.fact.replaces
        if one.id in gone or (named is not None and named in gone):
            continue
        if named is not None:
            gone.update(_chain(one, by_id))
        if not isinstance(one.fact, Retracted):
            left.append(one)
    return tuple(sorted(left, key=lambda one: (one.fact.occurred_at, one.sequence)))


def _chain(one: Recorded, by_id: dict[str, Recorded]) -> Iterable[str]:
    """What a fact puts out: the one it names, and, where it is a correction of a correction, all that stood before in that place."""
    named = one.fact.replaces
    while named is not None:
        yield named
        before = by_id.get(named)
        if before is None or before.sequence >= one.sequence or isinstance(one.fact, Retracted):
            return
        one, named = before, before.fact.replaces
