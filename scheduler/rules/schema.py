"""The shape of a rule file.

A key in a file is the field's name here with spaces for underscores; `short_forms` has the pieces that may be written short.
Amounts are text of three kinds: a quantity ("12 h"), a parameter of the same file ("$drain floor"), or an expression in the words of
`scheduler.rules.grammar` ("$filling per jar each jar", "drain time").
"""

import re
from typing import Annotated, Any, ClassVar, Literal, Self, get_args

from pydantic import BeforeValidator, Field, field_validator, model_validator

from scheduler.diagnostics import Fault, instead
from scheduler.documents import Record
from scheduler.facts.equipment import FREEZER
from scheduler.facts.values import read_many, several_faults
from scheduler.quantities import parse
from scheduler.rules.parameter import Basis, Caution, Names, Parameter, Source, TreatmentRow
from scheduler.rules.short_forms import (
    WANTED,
    AfterCards,
    Anchor,
    Anchors,
    AnyAmount,
    Condition,
    CountAmount,
    DurationAmount,
    HandsOnWork,
    Hold,
    MassAmount,
    ShareAmount,
    Shortened,
    Template,
    Windows,
)

Kind = Literal["cut comb", "chunk honey", "extracted", "dry comb"]  # what a product may be like
Stream = Literal["cut comb", "chunk honey", "extracted", "dry comb", "blended", "harvest", "yard", "hive"]
Loss = Literal["food safety", "colony", "crop", "comfort"]  # what is lost where it is not done in time
LOSSES: tuple[Loss, ...] = get_args(Loss)  # the worst first
Target = Literal["table", "shelf", "bees", "store", "food freezer"]  # what a card brings honey, comb or gear to
Status = Literal["planned", "provisional", "held back", "done", "skipped", "lapsed", "impossible"]  # of a task in a plan
Place = Literal["honey room", "apiary", "store", "anywhere"]  # where honey is worked, where the hives stand, where dry comb is kept
Handled = Literal["medicine", "mite wash", "fumigant", "hive tools", "hot wax"]
Measure = Literal["space", "volume", "pieces", "frames", "boxes", "jars", "buckets"]  # of equipment, as in a yard file
HIVE: Stream = "hive"  # the stream of cards that come once for each hive
CHOSEN = "chosen"  # in `treats`: the active ingredient that the keeper chose


TITLE = 38  # characters of a title at most, as a phone shows; DESIGN
_KILL = re.compile(r"\bfreeze_(comb_)?hold\s*\(|\bfreeze hold\b")


class Batches(Record):
    """How a lot is split: `of` so many units, each batch fitting the resource `fits`; or `as` another card's batches."""

    of: CountAmount | None = None
    fits: str | None = None
    as_: str | None = Field(default=None, alias="as")

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        if (self.as_ is None) == (self.of is None or self.fits is None):
            raise Fault("batches are split by a resource or follow another card", '"{of: packages, fits: freezer}" or "{as: freeze}"')
        return self


class Repeat(Shortened):
    """The card again and again: `every` so long after the last, at most `times`, not after `until`. In words: "every 7 d, 12 times, until first frost"."""

    sample = '"every 7 d, 12 times" or "every 7 d, until first frost"'

    every: DurationAmount
    times: CountAmount | None = None
    until: Anchor | None = None

    @model_validator(mode="before")
    @classmethod
    def _short(cls, value: Any) -> Any:
        if not isinstance(value, str):
            return value
        said = re.fullmatch(r"every (?P<every>[^,]+?)(?:, (?P<times>[^,]+?) times)?(?:,? until (?P<until>.+))?", value.strip())
        if not said:
            raise Fault(f'"{value}" is not a repetition', '"every 7 d, 12 times" or "every 7 d, until first frost"')
        one = {"every": f"1 {said['every']}"} if said["every"] in ("day", "week") else {}
        return {key: text for key, text in said.groupdict().items() if text} | one

    @model_validator(mode="after")
    def _ends(self) -> Self:
        if self.times is None and self.until is None:
            raise Fault("a repetition needs an end", '"every 7 d, 6 times" or "every 7 d, until first warm day"')
        return self


class Alert(Record):
    """What is told, and when: "look" where a look ends the hold, "hold done" where its estimate or floor does."""

    at: Literal["start", "hold done", "look", "finish", "due"] = "start"
    before: DurationAmount | None = None
    say: Template


class Care(Record):
    """What the keeper has to mind where a condition is so: said once in a plan, and breaking nothing."""

    if_: Condition = Field(alias="if")
    say: Template
    by: Template | None = None  # the command that says so, left out where nobody types one


Targets = Annotated[tuple[Target, ...], BeforeValidator(read_many, json_schema_input_type=Target | tuple[Target, ...])]
HandledThings = Annotated[tuple[Handled, ...], BeforeValidator(read_many, json_schema_input_type=Handled | tuple[Handled, ...])]
# A product that a set brings may stand among them, which lint checks.
Streams = Annotated[tuple[str, ...], BeforeValidator(read_many, json_schema_input_type=Stream | tuple[Stream, ...] | Literal["apiary"])]


_OWN = (
    "treats", "lapses", "after", "earliest", "due", "deadline", "hold", "occupies", "uses", "loads", "window", "end_window", "repeat", "alerts", "instead_of",
)  # fmt: skip


class Closing(Record):
    """What the work that ends a hold, or what follows a hold that nobody closes, is called: in a word or two, and in a title."""

    name: str
    title: Template


class Card(Record):
    """One card: a piece of work, what starts it, how long it holds, when it may be done, what it needs and what it says."""

    meant: ClassVar = {"name": "title", "reason": "why", "because": "why", "work": "hands", "time": "hands", "wait": "hold", "hours": "window", "if": "when"}

    title: Template
    for_: Streams = Field(alias="for")
    hives: Names = ()  # of a card for each hive: only of these, by name
    when: Condition | None = None
    with_: Names = Field(default=(), alias="with")  # exists only where these cards exist for the same lot
    instead_of: str | None = None  # exists only where that card is not possible
    where_late: str | None = None  # exists only where that card is planned past its due date, beside it
    alongside: str | None = None  # a line of that card's checklist: its minutes count there, it has no window, lateness or alert of its own
    brings_to: Targets = ()  # what it brings honey, comb or gear to; a stop names these
    pulls: bool = False  # the pull itself: who marks it as done says that the supers are off
    treats: str | None = None  # begins and ends a treatment of hives: with an active ingredient of `treatments:`, or the "chosen" one
    wanted: Literal["packages", "jars"] | None = None  # once for each time that these are wanted of its lot; "wanted" is the moment by which
    lapses: bool = False  # a look that goes quietly where nobody answers
    told_singly: bool = False  # protects food or gives a reading: no word about many tasks at once marks it as done
    after: AfterCards = Field(default_factory=dict)
    earliest: Anchors = ()  # the latest of these
    due: Anchors = ()  # the earliest of these; may be missed at a cost
    deadline: Anchors = ()  # the earliest of these; may not be missed
    hands: HandsOnWork = Field(default_factory=lambda: HandsOnWork.model_validate("5 min"))
    together: ShareAmount | None = None  # two can do it together, and take this share of its hands-on time
    place: Place = "honey room"
    each_apiary: bool = False  # "for: apiary": of the yard, once for each apiary where it has several; what is done at the hives is so anyway
    where_pulled: bool = False  # done before what was pulled leaves the hives; where the yard has several apiaries, at that one
    hold: Hold | None = None
    closing: Closing | None = None
    how: Template | None = None  # how it is done, for the first line of the notes and of what is told; what protects stands here, the title is short
    by: Template | None = None  # the command that says so, which ends that line and is left out where nobody types one
    handles: HandledThings = ()  # what never shares an evening's work with food, and wax on heat, which is not left for other work
    all_day: bool = False  # it belongs to a day, not to an hour of it
    occupies: dict[str, AnyAmount] = Field(default_factory=dict)
    uses: Names = ()  # equipment that it takes whole while it lasts, as an extractor; where the yard file has none it is taken to be there always
    counted: CountAmount | None = None  # units of its work (jars, frames), so that part of it can be told; batches count by themselves
    loads: MassAmount | None = None  # warm mass put into the freezer at begin
    batches: Batches | None = None
    window: Windows = ()  # any of these, for the work before the hold
    end_window: Windows = ()  # any of these, for the work after the hold
    repeat: Repeat | None = None
    alerts: tuple[Alert, ...] = ()
    mind: tuple[Care, ...] = ()
    loss: Loss = "comfort"
    provisional: Template | None = None  # why the date is not firm
    why: Template
    caution: Names = ()
    basis: Basis = "common practice"
    source: Names = ()
    formerly: Names = ()  # what the card was called before: what was recorded of it then counts for it now

    @model_validator(mode="before")
    @classmethod
    def _of_each_apiary(cls, written: Any) -> Any:
        """A card "for: apiary" is one for the yard, of each apiary; the work of one "for: hive" is where the hive stands unless it says otherwise."""
        if isinstance(written, dict) and written.get("for") == "apiary":
            return {**written, "for": "yard", "each apiary": True}
        return {"place": "apiary", **written} if isinstance(written, dict) and written.get("for") == HIVE else written

    @model_validator(mode="after")
    def _sound(self) -> Self:
        if HIVE in self.for_ and len(self.for_) > 1:
            raise Fault("a card for each hive is for nothing else", f'"for: {HIVE}" alone, and a card of its own for the rest')
        if self.hives and HIVE not in self.for_:
            raise Fault("only a card for each hive names hives", f'"for: {HIVE}" beside "hives: {", ".join(self.hives)}"')
        if HIVE in self.for_ and (other := next((key for key in ("treats", "wanted", "pulls", "batches") if getattr(self, key)), None)):
            raise Fault(f'"{other}" is of a lot, a harvest or the yard, and this card is for each hive', f'this card without "{other}"')
        if self.alongside and (own := [name for name in _OWN if getattr(self, name)]):
            key = type(self).model_fields[own[0]].alias or own[0]
            raise Fault(f'a line of the checklist of "{self.alongside}" has no "{key}" of its own', f'"{key}" on that card, or this card without "alongside"')
        if self.wanted is None and any(anchor.of == WANTED for anchor in (*self.earliest, *self.due, *self.deadline)):
            raise Fault('only what is wanted of a lot has a moment "wanted"', '"wanted: packages" or "wanted: jars" on this card')
        if self.basis == "published" and not self.source:
            raise Fault('a card with basis "published" needs its source', '"source: W1", and W1 under "sources:" with its title and where in it')
        if self.hold and self.hold.look_at:
            if FREEZER in self.occupies or _KILL.search(self.hold.estimate or ""):
                told = Fault('a hold in the freezer is a kill, and no "look at" ends it', '"wait at most": how long it may wait for hands once it is over')
                raise several_faults("hold", [(("hold", "look at"), self.hold.look_at, told)])
            if {"hold done", "look"} & {alert.at for alert in self.alerts} == {"hold done"}:
                raise Fault("no alert comes where a look ends the hold", 'an alert with "at: look" that says what to look for')
        return self


def handled(card: Card) -> tuple[str, ...]:
    """What the work of a card handles: food, where it brings something to the table, the shelf or the food freezer, and what it says."""
    return (*(("food",) if {"table", "shelf", "food freezer"} & set(card.brings_to) else ()), *card.handles)


class Stop(Record):
    """What lets nothing pass: while `when` is so, no card that brings to one of `holds back` is done, nor what follows it.

    Without `when` it holds where the card's own estimate never ends, as in a freezer that cannot kill.
    """

    kind: str | None = None  # what it is called where several stops are of one kind; else by its name
    for_: Streams = Field(default=("cut comb", "chunk honey", "extracted", "dry comb", "blended"), alias="for")
    when: Condition | None = None
    holds_back: Targets
    say: Template  # what is stopped, and why
    meanwhile: Template | None = None  # how it is kept until then
    goes_on: Template  # what lets it go on
    by: Template | None = None  # the command that says so, which is left out where nobody types one
    caution: Names = ()
    batches: None = None  # a stop is of a whole lot

    @model_validator(mode="after")
    def _holds_something_back(self) -> Self:
        if not self.holds_back:
            raise Fault("a stop that holds nothing back", f'"holds back: [table, shelf]", of {", ".join(get_args(Target))}')
        return self


class SetChange(Record):
    """What an overlay or a yard changes in a set: parameters by value or whole, cards by the keys named, cards left out."""

    parameters: dict[str, Any] = Field(default_factory=dict)
    tasks: dict[str, dict[str, Any]] = Field(default_factory=dict)
    without: Names = ()

    @model_validator(mode="before")
    @classmethod
    def _of_a_set(cls, written: Any) -> Any:
        if not isinstance(written, dict):
            raise Fault("a change stands under the name of a rule set, and there under its kind", '"cut comb: {parameters: {drain floor: 24 h}}"')
        return written


class Brought(Record):
    """A kind of product that a rule set brings: its lots are worked and reckoned like those of another kind, but for the cards left out."""

    like: Kind
    without: Names = ()  # cards for that kind that are not for this product
    instead: dict[str, str] = Field(default_factory=dict)  # cards for that kind, each with the one that stands in for it: what follows it follows that
    usual: dict[str, Any] = Field(default_factory=dict)  # of a lot of it, unless its harvest file says otherwise: {jar: 250 g}
    describes: str


class Expectation(Record):
    """What a scenario expects of the tasks made from one card. Ranges read "at least A", "at most B", "between A and B"."""

    exists: bool | None = None
    count: int | None = None
    batches: int | None = None
    hold: str | None = None
    start: str | None = None  # local times, "between 2026-08-11T18:00 and 2026-08-11T22:00", or "after drain", "before treatment"
    finish: str | None = None
    status: Status | None = None
    because: Names = ()  # labels of reasons: "estimate drain_time", "parameter drain floor", "window dusk"
    says: str | None = None  # words that stand in the title, an alert or a reason
    caution: Names = ()

    @model_validator(mode="before")
    @classmethod
    def _of_a_card(cls, written: Any) -> Any:
        if not isinstance(written, dict):
            raise Fault(f"what is expected of a card is a mapping of keys to values (written: {written!r})", "{exists: true} or {hold: at least 24 h}")
        return written

    @field_validator("hold")
    @classmethod
    def _lasts(cls, written: str | None) -> str | None:
        """A hold as durations: one, at least or at most one, between two."""
        hold = (written or "0 h").strip()
        ends = hold.removeprefix("between ").partition(" and ")[::2] if hold.startswith("between ") else (re.sub(r"^at (least|most) ", "", hold),)
        for end in ends:
            parse(end, "duration")
        return written

    @field_validator("start", "finish")
    @classmethod
    def _when(cls, written: str | None) -> str | None:
        """A time as one between two moments, before a card or after it."""
        if written is not None and not re.fullmatch(r"\s*(between .+ and .+|(before|after) .+)", written):
            raise Fault(f'"{written}" names no time', '"between 2026-08-11T18:00 and 2026-08-11T22:00", "after drain" or "before treatment"')
        return written

    @model_validator(mode="after")
    def _expects(self) -> Self:
        if not self.model_fields_set:
            raise Fault("expects nothing, so it cannot fail", '"exists: true" or "hold: at least 24 h"')
        return self


GIVEN = (
    "yard", "harvest", "lot", "lots", "room", "store", "freezer", "season", "as of", "parameters", "rules", "drain rack", "other pulls",
    "treatments", "released", "larvae", "died", "queen above", "done", "wants",
)  # fmt: skip
"""What a scenario may give: parts of the scenario yard and harvest that it lays others over, and what has happened."""


class Scenario(Record):
    """A story with a known end: `given` is laid over the scenario yard and harvest, `expect` names cards."""

    name: str
    given: dict[str, Any] = Field(default_factory=dict)  # of `GIVEN`
    expect: dict[str, Expectation] = Field(default_factory=dict)
    warnings: Names = ()  # kinds of warning, or words in one, that must be there

    @model_validator(mode="after")
    def _expects(self) -> Self:
        if not self.expect and not self.warnings:
            raise Fault("a scenario without expectations cannot fail", '"expect: {drain: {exists: true}}"')
        if unknown := [key for key in self.given if key not in GIVEN]:
            raise several_faults("given", [(("given", key), key, Fault(f'no scenario gives "{key}"', instead(key, GIVEN))) for key in unknown])
        return self


class RuleSet(Record):
    """One rule file."""

    meant: ClassVar = {"cards": "tasks", "rules": "tasks", "name": "ruleset", "numbers": "parameters", "tests": "scenarios", "warnings": "cautions"}

    ruleset: str
    version: int
    describes: str = ""
    overlay: bool = False  # read only where a yard names it under "rules:"
    extends: Names = ()
    brings: dict[str, Brought] = Field(default_factory=dict)  # kinds of product, by the name that a harvest file uses
    equipment: dict[str, Measure] = Field(default_factory=dict)  # what its cards occupy, and the key of the yard file that says how much there is
    sources: dict[str, Source] = Field(default_factory=dict)
    cautions: dict[str, Caution] = Field(default_factory=dict)
    parameters: dict[str, Parameter] = Field(default_factory=dict)
    tasks: dict[str, Card] = Field(default_factory=dict)
    stops: dict[str, Stop] = Field(default_factory=dict)
    no_longer: dict[str, str] = Field(default_factory=dict)  # cards and parameters that it had, and what to write instead
    treatments: dict[str, TreatmentRow] = Field(default_factory=dict)  # active ingredient -> what is usual with it
    changes: dict[str, SetChange] = Field(default_factory=dict)  # set name -> what changes in it
    scenarios: tuple[Scenario, ...] = ()
