"""What the keeper works with, and when a part of it is taken: freezer, rack, tank. SI numbers; counts are whole."""

from typing import Annotated, Self

from pydantic import Field, model_validator

from scheduler.diagnostics import Fault
from scheduler.documents import Record
from scheduler.facts.hours import HoursText
from scheduler.facts.values import Day, Name, Text, between, one_of, positive, whole

FREEZER, SETTLING_TANK = "freezer", "settling tank"  # kinds that this program asks for itself; rule files name the others
MEASURES = ("space", "volume", "pieces", "frames", "boxes", "jars", "buckets")
SAMPLE = '"space: 90 L", "pieces: 24" or another of space, volume, pieces, frames, boxes, jars, buckets'


class Measured(Record):
    """Something measured one way: by room [m³] or by a count."""

    space: Annotated[float | None, positive("volume")] = None
    volume: Annotated[float | None, positive("volume")] = None
    pieces: Annotated[int | None, whole("pieces", 100_000)] = None
    frames: Annotated[int | None, whole("frames", 100_000)] = None
    boxes: Annotated[int | None, whole("boxes", 10_000)] = None
    jars: Annotated[int | None, whole("jars", 100_000)] = None
    buckets: Annotated[int | None, whole("buckets", 10_000)] = None

    @model_validator(mode="after")
    def _one_measure(self) -> Self:
        given = [name for name in MEASURES if getattr(self, name) is not None]
        if len(given) > 1:
            raise Fault(f"it is measured twice, by {' and by '.join(given)}", "the one that fills up first")
        return self

    @property
    def measure(self) -> str | None:
        """The key that says how much there is."""
        return next((name for name in MEASURES if getattr(self, name) is not None), None)


class Equipment(Measured):
    """A freezer, rack, tank or the like; `kind` is what rule files call it, where its name here is another ("garage freezer")."""

    kind: Name | None = None
    temperature: Annotated[float | None, between("temperature", "-90 °C", "120 °C")] = None
    freezing_capacity: Annotated[float | None, positive("mass rate")] = None
    air: Annotated[str, one_of("still", "fan")] = "still"
    temperature_error: Annotated[float | None, between("temperature difference", "0 K", "5 K")] = None  # either way; None: the usual
    stowed: Annotated[str | None, one_of("spaced", "stacked")] = None  # how packages stand in it; None: stacked once they do not fit one layer
    surface_coefficient: Annotated[float | None, between("surface coefficient", "1 W/m2K", "60 W/m2K")] = None
    depth: Annotated[float | None, positive("length")] = None
    available: HoursText | None = None  # the hours in which it is there, where that is at times only, as of a club's extractor; None: always

    @property
    def capacity(self) -> float | None:
        """How much it holds, in m³ or as a count, 1 of what is there at times only and has no measure; None where nothing is said."""
        if self.measure is None:
            return 1.0 if self.available else None
        return float(getattr(self, self.measure))


class Reservation(Measured):
    """A part of some equipment that is taken from one day to another, both counted."""

    equipment: Name
    from_: Day = Field(alias="from")
    to: Day
    for_: Text = Field(default="", alias="for")

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if self.measure is None:
            raise Fault("it does not say how much is taken", SAMPLE)
        if self.to < self.from_:
            raise Fault(f"it ends on {self.to}, before it begins", f"from: {self.to}, to: {self.from_}")
        return self

    @property
    def amount(self) -> float:
        """How much is taken, in m³ or as a count."""
        return float(getattr(self, self.measure or ""))
