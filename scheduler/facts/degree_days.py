"""Marks of the season that come with a sum of degree days, as the yard file gives them: how they are counted, from which day, and how many.

A sum holds only with the method, the base and the first day it was published with, so all three are written beside it and none is assumed.
"""

from typing import Annotated, Self

from pydantic import Field, model_validator

from scheduler.diagnostics import Fault
from scheduler.documents import Record
from scheduler.facts.days import DayOfYearText
from scheduler.facts.written import between, one_of, positive, together

METHODS = ("sine", "simple", "substitution")

Threshold = Annotated[float, between("temperature", "-10 °C", "50 °C", " as a threshold of degree days")]
Sum = Annotated[float, positive("degree days")]


class Sums(Record):
    """Marks that plants give, and the degree days each comes with [°C·d]. Frosts and flying weather are read off the days themselves."""

    spring_bloom: Sum | None = None
    main_flow_begins: Sum | None = None
    main_flow_ends: Sum | None = None

    @model_validator(mode="after")
    def _at_least_one(self) -> Self:
        if not self.by_mark:
            raise Fault("no mark is named", "{spring bloom: 130 °C d}")
        return self

    @property
    def by_mark(self) -> dict[str, float]:
        """Mark to sum [°C·d]."""
        return {name.replace("_", " "): value for name, value in self if value is not None}


class DegreeDays(Record):
    """How degree days are counted here: method, lower and upper threshold [°C], the day of the year they begin; and the sum of each mark."""

    method: Annotated[str, one_of(*METHODS)]
    base: Threshold
    upper: Threshold | None = None
    begins: DayOfYearText = Field(alias="from")
    marks: Sums

    @model_validator(mode="after")
    def _upper_is_above(self) -> Self:
        if self.upper is not None and self.upper <= self.base:
            raise together("degree days", [(("upper",), self.upper, Fault("the upper threshold is not above the base", "a higher one, or leave the key out"))])
        return self
