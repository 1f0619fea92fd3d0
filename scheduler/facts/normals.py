"""Normal temperatures of a yard: the usual day and night of each month."""

from calendar import monthrange
from datetime import date
from typing import Annotated, Self

from pydantic import model_validator

from scheduler.diagnostics import Fault
from scheduler.documents import Record
from scheduler.facts.days import MONTHS
from scheduler.facts.written import between

AirTemperature = Annotated[float, between("temperature", "-60 °C", "60 °C", " outdoors")]


class MonthNormal(Record):
    """Usual highest and lowest temperature of a day in one month [°C]."""

    day: AirTemperature
    night: AirTemperature

    @model_validator(mode="after")
    def _day_is_warmer(self) -> Self:
        if self.night > self.day:
            raise Fault("the nights are warmer than the days", '"{day: 24 °C, night: 12 °C}"')
        return self


class Normals(Record):
    """All twelve months."""

    january: MonthNormal
    february: MonthNormal
    march: MonthNormal
    april: MonthNormal
    may: MonthNormal
    june: MonthNormal
    july: MonthNormal
    august: MonthNormal
    september: MonthNormal
    october: MonthNormal
    november: MonthNormal
    december: MonthNormal

    def on(self, day: date) -> tuple[float, float]:
        """Day and night temperature [°C] of a date, on the straight line between the middles of two months."""
        past = day.day - 0.5 - monthrange(day.year, day.month)[1] / 2
        other = date(day.year + (day.month == 12), day.month % 12 + 1, 1) if past >= 0 else date(day.year - (day.month == 1), (day.month - 2) % 12 + 1, 1)
        between_middles = (monthrange(day.year, day.month)[1] + monthrange(other.year, other.month)[1]) / 2
        share = abs(past) / between_middles
        here, there = self._month(day.month), self._month(other.month)
        return here.day + share * (there.day - here.day), here.night + share * (there.night - here.night)

    def _month(self, number: int) -> MonthNormal:
        found: MonthNormal = getattr(self, MONTHS[number - 1])
        return found
