"""Pieces of a card that may be written short: amounts, moments, relations, hands-on work, holds and windows."""

import re
from collections.abc import Callable, Iterator, Mapping
from itertools import accumulate
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Literal, NamedTuple, Self

from pydantic import BeforeValidator, Field, ModelWrapValidatorHandler, field_serializer, model_validator

from scheduler.diagnostics import Fault, instead
from scheduler.documents import Record
from scheduler.facts.days import SPAN_SAMPLE, Span, day_named, read_span
from scheduler.facts.hours import read_days
from scheduler.facts.season import MARKS_AND_EDGES, SPANS, SpanName
from scheduler.facts.values import Reads, read_many
from scheduler.rules.spoken_names import worded

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
    """Marks a text field as a condition, which is so or not."""


class TemplateText:
    """Marks a text field as words with {expression} places."""


def of_lines(value: object) -> object:
    """Amounts in lines as one text: a first-match list, each line with what it `is` and `if`, the last for all else; or `by frame`, each with its own.

    Raises `Fault` for a line that is none.
    """
    if isinstance(value, Mapping) and {*value} == {"by frame"} and isinstance(value["by frame"], Mapping):
        return "by frame (" + ", ".join(f"{frame} {amount}" for frame, amount in value["by frame"].items()) + ")"
    if not isinstance(value, list):
        return value
    return ", ".join(_lines(value))


def _lines(value: list[object]) -> Iterator[str]:
    sample = "[{is: $short rest, if: beetle was seen}, $long rest]"
    for number, line in enumerate(value, 1):
        last = number == len(value)
        if last and not isinstance(line, Mapping | list) and number > 1:
            yield f"otherwise {line}"
        elif not last and isinstance(line, Mapping) and {*line} == {"is", "if"}:
            yield f"{_bracketed(line['is'])} if {_bracketed(conditions(line['if']))}"
        else:
            wrong = "the last line is what holds where none of those before it does" if last else f'line {number} of it does not say what it "is" and "if"'
            raise Fault(f"not a first-match list: {wrong}", sample, (number - 1,))


class Line(dict[str, str]):
    """A line of a first-match list: what it `is`, and `if`."""


def as_lines(amount: str) -> str | list[Line | str] | dict[str, dict[str, str]]:
    """The lines that an amount may be written in, a first-match list or a table by frame; the amount itself where it has none."""
    lines: list[Line | str] = []
    *cases, last = _parts(amount, ", ")
    for case in cases:
        held, *condition = _parts(case, " if ")
        lines.append(Line({"is": _unbracketed(held), "if": _unbracketed(" if ".join(condition))}))
    found: str | list[Line | str] | dict[str, dict[str, str]] = amount
    if cases and last.startswith("otherwise "):
        found = [*lines, _unbracketed(last.removeprefix("otherwise "))]
    elif (table := re.fullmatch(r"by frame \((.*)\)", amount)) and all(" " in one for one in _parts(table[1], ", ")):
        found = {"by frame": dict(one.split(" ", 1) for one in _parts(table[1], ", "))}
    try:
        return found if re.sub("[()]", "", str(of_lines(found))) == re.sub("[()]", "", amount) else amount  # it puts brackets round more
    except Fault:
        return amount


def _parts(amount: str, between: str) -> list[str]:
    """A text cut where `between` stands outside brackets."""
    cuts, depth, begun = [], 0, 0
    for at, sign in enumerate(amount):
        depth += (sign == "(") - (sign == ")")
        if not depth and at >= begun and amount.startswith(between, at):
            cuts.append(amount[begun:at])
            begun = at + len(between)
    return [*cuts, amount[begun:]]


def _unbracketed(amount: str) -> str:
    """A text without the brackets round the whole of it."""
    depths = list(accumulate((sign == "(") - (sign == ")") for sign in amount))
    return amount[1:-1] if amount[:1] == "(" and depths.index(0) == len(amount) - 1 else amount


def _bracketed(value: object) -> str:
    text = str(of_lines(value))
    return f"({text})" if re.search(r",|\s(?:if|and|or)\s", text) else text


def conditions(value: object) -> object:
    """Conditions in lines, all of which have to be so, as one text. Raises `Fault` where words and signs stand side by side."""
    if not isinstance(value, list):
        return value
    lines = [str(line) for line in value]
    if len({worded(line) for line in lines}) > 1:
        raise Fault("some lines are in words and some in signs", "all of them in words")
    return (
        " and ".join(f"({line})" if re.search(r"\s(?:and|or)\s", line) else line for line in lines)
        if worded("".join(lines[:1]))
        else " && ".join(f"({line})" for line in lines)
    )


def _words(value: Any) -> Any:
    value = of_lines(value)
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise Fault("an amount is needed", '"12 h", "$a parameter" or an expression')
    return str(value)


def _duration(value: Any) -> Any:
    if isinstance(value, int | float) and not isinstance(value, bool) and value != 0:
        raise Fault(f"{value} has no unit; a duration is needed", f'"{value} h" or "{value} min"')
    return _words(value)


def _condition(value: Any) -> Any:
    return str(value).lower() if isinstance(value, bool) else conditions(value)


_Amount = str | int | float | list[Any] | dict[Literal["by frame"], dict[str, Any]]
DurationAmount = Annotated[str, BeforeValidator(_duration, json_schema_input_type=_Amount), AmountOf("duration")]
CountAmount = Annotated[str, BeforeValidator(_words, json_schema_input_type=_Amount), AmountOf("count")]
MassAmount = Annotated[str, BeforeValidator(_words, json_schema_input_type=_Amount), AmountOf("mass")]
ShareAmount = Annotated[str, BeforeValidator(_words, json_schema_input_type=_Amount), AmountOf("share")]
AnyAmount = Annotated[str, BeforeValidator(_words, json_schema_input_type=_Amount), AmountOf("any")]
TemperatureAmount = Annotated[str, BeforeValidator(_words, json_schema_input_type=_Amount), AmountOf("temperature")]
Condition = Annotated[str, BeforeValidator(_condition, json_schema_input_type=str | bool | list[str]), ConditionText()]
Template = Annotated[str, TemplateText()]

_FROM = re.compile(r"(?P<lag>.+)\s+(?P<way>after|before)\s+(?:the\s+)?(?P<of>[a-z][a-z ]*|\d{1,2} [A-Z][a-z]+)")
_ANCHOR = re.compile(r"^\s*(?P<of>[a-z][a-z ]*?)\s*(?:(?P<sign>[+-])\s*(?P<lag>.+?))?\s*$")


class Shortened(Record):
    """A record that may be written short, as `written_as` says in JSON Schema."""

    written_as: ClassVar[tuple[str, ...]] = ("string",)
    sample: ClassVar[str] = ""  # of it written short, for a message

    @model_validator(mode="wrap")
    @classmethod
    def _words_or_mapping(cls, value: Any, handler: ModelWrapValidatorHandler[Self]) -> Self:
        """Refuse what is neither, with a sample of both."""
        if isinstance(value, list | bool) or (isinstance(value, int | float) and "number" not in cls.written_as):
            raise Fault(f"words or a mapping of keys to values are needed (written: {value!r})", cls.sample)
        return handler(value)

    @classmethod
    def __get_pydantic_json_schema__(cls, core: "CoreSchema", handler: "GetJsonSchemaHandler") -> "JsonSchemaValue":
        return {"anyOf": [*({"type": kind} for kind in cls.written_as), handler(core)]}


class Anchor(Shortened):
    """A moment named by what it follows: "3 d after the pull", "14 d before first frost", "1 October"; or "pulled + 72 h", "first frost - $guard lead"."""

    sample = '"3 d after the pull", "14 d before first frost" or "1 October"'

    of: str
    plus: DurationAmount | None = None
    minus: DurationAmount | None = None

    @model_validator(mode="before")
    @classmethod
    def _short(cls, value: Any) -> Any:
        if isinstance(value, Mapping) and isinstance(value.get("of"), str) and (day := day_named(value["of"])):
            return {**value, "of": str(day)}
        if not isinstance(value, str):
            return value
        if value.strip() in ("pull", "the pull"):
            return {"of": "pulled"}
        if dated := _dated(value):
            return dated
        match, said = _ANCHOR.match(value), _FROM.fullmatch(value.strip())
        if said and not (match and match["sign"]):  # a parameter's name may hold "after" or "before" too
            of = "pulled" if said["of"] == "pull" else said["of"]
            return {"of": of, "plus" if said["way"] == "after" else "minus": said["lag"]}
        if not match:
            raise Fault(f'"{value}" names no moment', cls.sample)
        lag = {"+": "plus", "-": "minus"}.get(match["sign"] or "")
        return {"of": match["of"], **({lag: match["lag"]} if lag else {})}


def _dated(text: str) -> dict[str, str] | None:
    """A moment that is, or lies some time from, a day of every year; None for any other."""
    found = re.fullmatch(r"(?:(?P<lag>.+) (?P<way>after|before) )?(?P<of>.*)", " ".join(text.split()))
    day = day_named(found["of"]) if found else None
    if found is None or day is None:
        return None
    return {"of": str(day), **({"plus" if found["way"] == "after" else "minus": found["lag"]} if found["way"] else {})}


def read_anchors(value: Any) -> Any:
    """Moments: one, several as a list, or of each the first that holds, as lines of what it `is` and `if`."""
    if not isinstance(value, list):
        return read_many(value)
    if any(isinstance(line, Mapping) and "is" in line for line in value):
        return (_first_that_holds(value),)
    return [_first_that_holds(one) if isinstance(one, list) else one for one in value]


def _first_that_holds(lines: list[Any]) -> dict[str, Any]:
    """The moment that several lines name alike, each at its own distance."""
    read = [_FROM.fullmatch(str(line["is"] if isinstance(line, Mapping) and "is" in line else line).strip()) for line in lines]
    if None in read or len({(one["way"], one["of"]) for one in read if one}) != 1:
        raise Fault(
            "the lines of a first-match list name one moment, each its own time before or after it",
            "[{is: 2 d after the pull, if: beetle was seen}, 9 d after the pull]",
        )
    lags = [{**line, "is": one["lag"]} if isinstance(line, Mapping) else one["lag"] for line, one in zip(lines, read, strict=True) if one]
    last = next(one for one in read if one)
    return {"of": "pulled" if last["of"] == "pull" else last["of"], "plus" if last["way"] == "after" else "minus": lags}


_Line = dict[Literal["is", "if"], Any]  # of a first-match list
Anchors = Annotated[tuple[Anchor, ...], BeforeValidator(read_anchors, json_schema_input_type=Anchor | tuple[Anchor | _Line | tuple[Anchor | _Line, ...], ...])]


class CardRelation(Shortened):
    """Precedence to another card (RFC 9253 kinds): the least lag `at least`, the greatest lag `within`.

    `across` widens it from the same lot to every lot of the harvest, or to every harvest of the season. A lag alone may be said: "within 2 h".
    """

    written_as = ("null", "string")
    sample = '"within 2 h", "at least 12 h", or {at least: 12 h, within: 2 d}'

    relation: RelationKind = "finish to start"
    at_least: DurationAmount | None = None
    within: DurationAmount | None = None
    across: Literal["lot", "harvest", "season"] | None = None

    @model_validator(mode="before")
    @classmethod
    def _short(cls, value: Any) -> Any:
        if isinstance(value, str):
            if both := re.fullmatch(r"at least\s+(.+?),?\s+(?:and\s+)?within\s+(.+)", value.strip()):
                raise Fault("a least and a greatest lag stand in braces", f"{{at least: {both[1]}, within: {both[2]}}}")
            if said := re.fullmatch(r"(within|at least)\s+(.+)", value.strip()):
                return {said[1]: said[2]}
            raise Fault(f'"{value}" is not a lag', '"within 2 h", "at least 12 h" or nothing')
        return {} if value is None else value


def read_after(value: Any) -> Any:
    """The cards another comes after: one by its name, several as a list, or each with its lag."""
    if isinstance(value, str) and (lag := re.fullmatch(r"(.+?),?\s+((?:within|at least)\s+.+)", value)):
        raise Fault("a card and its lag stand in braces", f"{{{lag[1]}: {lag[2]}}}")
    if isinstance(value, str) and "," in value:
        raise Fault("several cards stand in square brackets", f"[{', '.join(name.strip() for name in value.split(','))}]")
    names = [value] if isinstance(value, str) else value
    return dict.fromkeys(names) if isinstance(names, list) and all(isinstance(name, str) for name in names) else value


AfterCards = Annotated[dict[str, CardRelation], BeforeValidator(read_after, json_schema_input_type=str | list[str] | dict[str, CardRelation])]


class HandsOnWork(Shortened):
    """Hands-on work before and after the hold; `hours: any` lets it lie outside the keeper's free hours (it is urgent or already under way)."""

    written_as = ("string", "number")
    sample = '"20 min", or {before: 20 min, after: 10 min}'

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

    sample = '"12 h", or {at least: 12 h, look at: 3 d}'

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


def _span(value: Any) -> SpanName | Span:
    """A span of the yard's season by its name, or one of one's own, from day to day. Raises `Fault`."""
    if value in SPANS:
        return value  # type: ignore[no-any-return]
    if isinstance(value, Span) or re.search(r"\d", str(value)):
        return read_span(value)
    raise Fault(f'"{value}" is not a span of the season', f"{instead(str(value), SPANS)}, or days of your own: {SPAN_SAMPLE}")


_SomeSpan = Annotated[SpanName | Span | None, Reads(_span, {"anyOf": [{"enum": list(SPANS)}, {"type": "string"}]})]


class SeasonWindow(Record):
    """Inside or outside spans of the yard's season, or of one's own: "1 November to 15 March"."""

    inside: _SomeSpan = None
    outside: _SomeSpan = None

    @field_serializer("inside", "outside", when_used="json-unless-none")
    def _as_written(self, span: str | Span) -> str:
        return str(span)


class TemperatureWindow(Record):
    """Days whose normal day or night temperature, or the mean of the two, lies within limits."""

    days_at_least: TemperatureAmount | None = None
    days_at_most: TemperatureAmount | None = None
    nights_at_least: TemperatureAmount | None = None
    nights_at_most: TemperatureAmount | None = None
    mean_at_least: TemperatureAmount | None = None


def _temperature(found: re.Match[str], end: str) -> dict[str, Any]:
    return {"temperature": {f"{found['of'].lower()} {end}": found["amount"]}}


_SAID: dict[str, Callable[[re.Match[str]], dict[str, Any]]] = {
    r"(?:at )?(?P<at>dawn|sunrise|sunset|dusk)": lambda found: {"sun": {"at": found["at"].lower()}},
    r"(?:on )?(?:the )?(?P<days>(?:mon|tue|wed|thu|fri|sat|sun|weekend|weekday|workday|every day|daily).*)": lambda found: {"on": found["days"]},
    r"(?:in |by )?daylight": lambda found: {"daylight": True},
    r"on (?P<days>.+)": lambda found: {"on": found["days"]},
    r"(?P<way>inside|outside) (?:of )?(?:the )?(?P<span>.+)": lambda found: {"season": {found["way"].lower(): found["span"].lower()}},
    r"between (?P<first>.+) and (?P<last>.+)": lambda found: {"season": {"inside": f"{found['first']} to {found['last']}"}},
    r"(?P<of>days|nights) (?P<end>at least|at most) (?P<amount>.+)": lambda found: _temperature(found, found["end"].lower()),
    r"(?P<of>days|nights) (?:of )?(?P<amount>.+) or warmer": lambda found: _temperature(found, "at least"),
    r"(?P<of>days|nights) (?:of )?(?P<amount>.+) or colder": lambda found: _temperature(found, "at most"),
    r"(?P<clock>\d{1,2}:\d{2}-\d{1,2}:\d{2})": lambda found: {"clock": re.sub(r"(?<!\d)(?=\d:)", "0", found["clock"])},
}
_SAMPLE = '"dusk", "daylight", "on sat-sun", "outside robbing", "days at least 12 °C", "08:00-20:00", or several in braces: {on: sat, clock: "08:00-12:00"}'


class Window(Shortened):
    """When hands-on work may lie; all that is named must hold. One of them may be said in words: "dusk", "on sat-sun", "days at least 12 °C"."""

    sample = _SAMPLE

    sun: SunWindow | None = None
    daylight: bool = False  # from sunrise to sunset
    clock: str | None = None  # "05:00-10:00", wall time at the yard
    on: Annotated[tuple[int, ...], BeforeValidator(read_days, json_schema_input_type=str | tuple[str, ...])] = ()  # days of the week: "sat-sun"
    season: SeasonWindow | None = None
    temperature: TemperatureWindow | None = None

    @model_validator(mode="before")
    @classmethod
    def _short(cls, value: Any) -> Any:
        if not isinstance(value, str):
            return value
        for form, written in _SAID.items():
            if found := re.fullmatch(form, " ".join(value.split()), re.IGNORECASE):
                return written(found)
        raise Fault(f'"{value}" is not a window', _SAMPLE)


Windows = Annotated[tuple[Window, ...], BeforeValidator(read_many, json_schema_input_type=Window | tuple[Window, ...])]
