"""What rule files write down besides cards: a number with what it rests on, a source, words of caution, and a row of the table of treatments."""

from datetime import date
from typing import Annotated, Any, Literal, Self

from pydantic import BeforeValidator, model_validator

from scheduler.diagnostics import Fault
from scheduler.documents import Record
from scheduler.facts.values import read_date, read_many
from scheduler.quantities import parse
from scheduler.rules.expressions import dimension_of
from scheduler.rules.vocabulary import Value

Basis = Literal["published", "common practice", "assumed"]
Names = Annotated[tuple[str, ...], BeforeValidator(read_many, json_schema_input_type=str | tuple[str, ...])]


class Source(Record):
    """Where something is published: by whom, title, and the place in it."""

    by: str
    title: str
    where: str
    year: int | None = None
    doi: str | None = None
    address: str | None = None

    def cited(self) -> str:
        """ "By, Title (year), where"."""
        year = f" ({self.year})" if self.year else ""
        doi = f", doi:{self.doi}" if self.doi else ""
        return f"{self.by}, {self.title}{year}, {self.where}{doi}"


class Parameter(Record):
    """A number (or true, false, a word) that differs between keepers and regions, with what it rests on."""

    value: str | bool | int | float
    basis: Basis
    source: Names = ()
    checked: Annotated[date, BeforeValidator(lambda written: written if isinstance(written, date) else read_date(written))]
    range: str | None = None  # the published or usual range, for a reader
    note: str | None = None
    may_be_made: Literal["lower", "higher"] | None = None  # a number that protects: the one way in which a change may move it
    measures: str | None = None  # the dimension, where the unit does not say it ("temperature difference")

    @model_validator(mode="before")
    @classmethod
    def _rests_on_something(cls, written: Any) -> Any:
        if not isinstance(written, dict):
            raise Fault(f'"{written}" does not say what it rests on', f"{{value: {written}, basis: assumed, checked: 2026-11-25}}")
        return written

    @model_validator(mode="after")
    def _can_be_made(self) -> Self:
        text = str(self.value).lower() if isinstance(self.value, bool) else str(self.value)
        if self.may_be_made and not any(char.isdigit() for char in text):
            raise Fault(f'"{text}" is no number that could be made {self.may_be_made}', 'it without "may be made:"')
        return self

    @model_validator(mode="after")
    def _sourced(self) -> Self:
        if self.basis == "published" and not self.source:
            raise Fault('a parameter with basis "published" needs its source', '"source: W1", and W1 under "sources:" with its title and where in it')
        return self


class TreatmentRow(Record):
    """What is usual with one active ingredient against mites; the keeper's label overrules it. Doses are the label's alone."""

    days_at_least: Parameter | None = None  # the day's highest temperature as it begins
    days_at_most: Parameter | None = None
    mean_at_least: Parameter | None = None  # the mean of the day
    length: Parameter
    longest: Parameter
    wait: Parameter  # from its end until supers and wet frames may go on
    fed: Parameter  # whether syrup is fed meanwhile
    supers: Parameter  # whether supers may be on
    entrances: Parameter | None = None  # what it asks of the entrance, in words

    def named(self, active: str) -> dict[str, tuple[str, Parameter]]:
        """Its numbers as parameters of the set ("formic acid length"), each with the key it has in the row."""
        fields = type(self).model_fields
        return {f"{active} {fields[name].alias}": (fields[name].alias or name, value) for name, value in self if value is not None}


class Caution(Record):
    """Words of caution shown at the step where the work can hurt someone; quantities in braces, "{27 kg}", are told in the keeper's units."""

    say: str
    brief: str = ""  # the same in a few words, for a phone
    source: Names = ()

    @model_validator(mode="before")
    @classmethod
    def _has_words(cls, written: Any) -> Any:
        if not isinstance(written, dict):
            raise Fault('the words of a caution stand under "say"', f'{{say: "{written}"}}')
        return written


_WAYS = {"temperature": {"lower": "colder", "higher": "warmer"}, "duration": {"lower": "shorter", "higher": "longer"}}


def in_words(way: str, dimension: str) -> str:
    """ "lower" or "higher" as one says it of a dimension: a temperature is made colder."""
    return _WAYS.get(dimension, {}).get(way, way)


def si_value(parameter: Parameter) -> tuple[Value, str]:
    """A parameter's value as an SI number with its dimension; true, false and words stay as they are. Raises `Fault`."""
    value = parameter.value
    if isinstance(value, bool):
        return value, "yes or no"
    if isinstance(value, int | float):
        return float(value), "count"
    if parameter.measures == "word" or (parameter.measures is None and not any(char.isdigit() for char in value)):
        return value, "word"
    dimension = parameter.measures or dimension_of(value)
    return parse(value, dimension), dimension
