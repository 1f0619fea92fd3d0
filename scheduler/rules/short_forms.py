"""Pieces of a card that may be written short: amounts, moments, relations, hands-on work, holds and windows."""

import re
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Literal, NamedTuple

from pydantic import BeforeValidator, Field, model_validator

from scheduler.diagnostics import Fault
from scheduler.documents import Record
from scheduler.facts.season import MARKS_AND_EDGES, SpanName
from scheduler.facts.values import read_many

if TYPE_CHECKING:
    from pydantic import GetJsonSchemaHandler
    from pydantic.json_schema import JsonSchemaValue
    from pydantic_core import CoreSchema

RelationKind = Literal["finish to start", "start to start", "finish to finish", "start to finish"]
WANTED = "wanted"  # the moment by which something is wanted of a lot
ANCHORS = ("pulled", "as of", WANTED, *MARKS_AND_EDGES)


class AmountOf(NamedTuple):
    """Marks a text field as an amount of a dimension of `quantities` ("duration", "count", "any")."""

    dimension: str


class ConditionText:
    """Marks a text field as a CEL expression that gives true or false."""


class TemplateText:
    """Marks a text field as words with {expression} places."""


def _words(value: Any) -> Any:
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise Fault("an amount is needed", '"12 h", "$a parameter" or an expression')
    return str(value)


def _duration(value: Any) -> Any:
    if isinstance(value, int | float) and not isinstance(value, bool) and value != 0:
        raise Fault(f"{value} has no unit; a duration is needed", f'"{value} h" or "{value} min"')
    return _words(value)


_Amount = str | int | float
DurationAmount = Annotated[str, BeforeValidator(_duration, json_schema_input_type=_Amount), AmountOf("duration")]
CountAmount = Annotated[str, BeforeValidator(_words, json_schema_input_type=_Amount), AmountOf("count")]
MassAmount = Annotated[str, BeforeValidator(_words, json_schema_input_type=_Amount), AmountOf("mass")]
AnyAmount = Annotated[str, BeforeValidator(_words, json_schema_input_type=_Amount), AmountOf("any")]
TemperatureAmount = Annotated[str, BeforeValidator(_words, json_schema_input_type=_Amount), AmountOf("temperature")]
Condition = Annotated[str, BeforeValidator(lambda v: str(v).lower() if isinstance(v, bool) else v, json_schema_input_type=str | bool), ConditionText()]
Template = Annotated[str, TemplateText()]

_ANCHOR = re.compile(r"^\s*(?P<of>[a-z][a-z ]*?)\s*(?:(?P<sign>[+-])\s*(?P<lag>.+?))?\s*$")


class Shortened(Record):
    """A record that may be written short, as `written_as` says in JSON Schema."""

    written_as: ClassVar[tuple[str, ...]] = ("string",)

    @classmethod
    def __get_pydantic_json_schema__(cls, core: "CoreSchema", handler: "GetJsonSchemaHandler") -> "JsonSchemaValue":
        return {"anyOf": [*({"type": kind} for kind in cls.written_as), handler(core)]}


class Anchor(Shortened):
    """A moment named by what it follows: "pulled + 72 h", "first frost - $guard lead"."""

    of: str
    plus: DurationAmount | None = None
    minus: DurationAmount | None = None

    @model_validator(mode="before")
    @classmethod
    def _short(cls, value: Any) -> Any:
        if not isinstance(value, str):
            return value
        match = _ANCHOR.match(value)
        if not match:
            raise Fault(f'"{value}" names no moment', '"pulled + 72 h" or "first frost - 14 d"')
        lag = {"+": "plus", "-": "minus"}.get(match["sign"] or "")
        return {"of": match["of"], **({lag: match["lag"]} if lag else {})}


Anchors = Annotated[tuple[Anchor, ...], BeforeValidator(read_many, json_schema_input_type=Anchor | tuple[Anchor, ...])]


class CardRelation(Shortened):
    """Precedence to another card (RFC 9253 kinds): the least lag `at least`, the greatest lag `within`.

    `across` widens it from the same lot to every lot of the harvest, or to every harvest of the season.
    """

    written_as = ("null",)

    relation: RelationKind = "finish to start"
    at_least: DurationAmount | None = None
    within: DurationAmount | None = None
    across: Literal["lot", "harvest", "season"] | None = None

    @model_validator(mode="before")
    @classmethod
    def _short(cls, value: Any) -> Any:
        return {} if value is None else value


class HandsOnWork(Shortened):
    """Hands-on work before and after the hold; `hours: any` lets it lie outside the keeper's free hours (it is urgent or already under way)."""

    written_as = ("string", "number")

    before: DurationAmount = "0 min"
    after: DurationAmount | None = None
    hours: Literal["free", "any"] = "free"

    @model_validator(mode="before")
    @classmethod
    def _short(cls, value: Any) -> Any:
        return {"before": value} if isinstance(value, str | int | float) else value


class Hold(Shortened):
    """Time that needs nobody: the estimate, never under the floor `at least`.

    At `look at` somebody looks, whatever the estimate says, and the plan goes on from there; no look ends a hold in the freezer, for that is a kill.
    `wait at most` is how long it may wait for hands once it is over; longer counts as late.
    """

    estimate: DurationAmount | None = None
    at_least: DurationAmount | None = None
    look_at: DurationAmount | None = None
    wait_at_most: DurationAmount | None = None

    @model_validator(mode="before")
    @classmethod
    def _short(cls, value: Any) -> Any:
        return {"estimate": value} if isinstance(value, str) else value


class SunWindow(Record):
    """An interval about an event of the sun at the yard."""

    at: Literal["dawn", "sunrise", "sunset", "dusk"]
    from_: DurationAmount = Field(default="-30 min", alias="from")
    to: DurationAmount = "60 min"


class SeasonWindow(Record):
    """Inside or outside spans of the yard's season."""

    inside: SpanName | None = None
    outside: SpanName | None = None


class TemperatureWindow(Record):
    """Days whose normal day or night temperature, or the mean of the two, lies within limits."""

    days_at_least: TemperatureAmount | None = None
    days_at_most: TemperatureAmount | None = None
    nights_at_least: TemperatureAmount | None = None
    nights_at_most: TemperatureAmount | None = None
    mean_at_least: TemperatureAmount | None = None


class Window(Record):
    """When hands-on work may lie; all that is named must hold."""

    sun: SunWindow | None = None
    clock: str | None = None  # "05:00-10:00", wall time at the yard
    season: SeasonWindow | None = None
    temperature: TemperatureWindow | None = None


Windows = Annotated[tuple[Window, ...], BeforeValidator(read_many, json_schema_input_type=Window | tuple[Window, ...])]
