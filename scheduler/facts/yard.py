"""The yard, written once: place, free hours, room, equipment, season, and what the keeper wants otherwise than usual."""

from datetime import date
from typing import Annotated, Any, Literal, Self
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones

from pydantic import BeforeValidator, Field, model_validator

from scheduler.diagnostics import Fault, instead
from scheduler.documents import File, Record, read, record
from scheduler.facts.apiaries import Apiary
from scheduler.facts.apiaries import unclear as unclear_apiaries
from scheduler.facts.equipment import FREEZER, Equipment, Reservation
from scheduler.facts.hours import QUIET, Hours, HoursText, longest, read_quiet
from scheduler.facts.people import Person, unclear
from scheduler.facts.season import DegreeDays, Normals, Season
from scheduler.facts.values import Loc, Name, Names, Reads, Text, YesNo, between, number_between, one_of, positive, several_faults
from scheduler.local_time import ceil_to_minute

Humidity = Annotated[float, between("share", "0 %", "100 %", " for relative humidity")]
IndoorTemperature = Annotated[float, between("temperature", "-40 °C", "60 °C", " indoors")]
MoistureLimit = Annotated[float, between("share", "13 %", "25 %", "; ripe honey lies between 13 and 25 %")]


def _read_zone(value: Any) -> str:
    name = str(value).strip()
    try:
        if name.startswith(("posix", "right", "localtime", "Factory")):
            raise ZoneInfoNotFoundError(name)
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise Fault(f'"{name}" is not a time zone', _zone_like(name)) from None
    return name


def _zone_like(name: str) -> str:
    """The nearest zone of the IANA database, else what one looks like."""
    import difflib  # only what is wrong needs it

    zones = {zone.lower(): zone for zone in sorted(available_timezones())}
    cities = {zone.rpartition("/")[2]: zone for zone in zones}
    word = name.lower().replace(" ", "_")
    for known, named in ((zones, zones), (cities, cities)):
        close = difflib.get_close_matches(word, list(known), n=1, cutoff=0.75)
        if close:
            return f'"{zones[named[close[0]].lower()]}"'
    return '"Europe/Ljubljana" or another name of the IANA time zone database (continent/city)'


class Location(Record):
    """Where the yard lies: decimal degrees, north and east positive, and the IANA name of its time zone."""

    latitude: Annotated[float, number_between(-90, 90, "latitude")]
    longitude: Annotated[float, number_between(-180, 180, "longitude")]
    timezone: Annotated[str, Reads(_read_zone, {"type": "string"})]


class Room(Record):
    """The room where honey is worked: temperature [°C] and relative humidity [share]."""

    temperature: IndoorTemperature
    humidity: Humidity


class Store(Record):
    """Where dry comb is kept: temperature [°C] and relative humidity [share], as far as they are known."""

    temperature: IndoorTemperature | None = None
    humidity: Humidity | None = None


class Limits(Record):
    """The keeper's own limits. Moisture: 18.6 % is the limit of US grades A and B (USDA, Standards for Grades of Extracted Honey, 1985).

    Of ling heather honey: 23 % (Directive 2001/110/EC relating to honey, Annex II, point 2).
    """

    moisture: MoistureLimit = 0.186
    heather: MoistureLimit = 0.23


class OpenCleaning(Record):
    """Wet frames set out in the open: only where it is lawful locally, and how far from any hive [m].

    100 m is common practice; 91 to 400 m are advised.
    """

    lawful: YesNo = False
    distance: Annotated[float, positive("length")] = 100.0


def _has_one(value: Any) -> Any:
    """Whether the yard has a thing: "none" says no."""
    return "no" if value in ("none", None) else value


def _written_yet(value: Any) -> Any:
    return {} if value is None else value


_Quiet = Annotated[Hours, BeforeValidator(read_quiet, json_schema_input_type=bool | str | dict[str, str])]
_Season = Annotated[Season, BeforeValidator(_written_yet, json_schema_input_type=Season | None)]
_HasOne = Annotated[YesNo, BeforeValidator(_has_one, json_schema_input_type=Literal["yes", "no", "none"] | bool | None)]


class Yard(File):
    """The yard file. What is left out takes the value here: no equipment, no season, nothing unlawful or unusual done."""

    yard: Name
    place: Location
    units: Annotated[str, one_of("metric", "us")] = "metric"
    hands: HoursText
    slack: Annotated[float, between("duration", "0 min", "6 h")] = 0.0  # of the free hours of each day, kept free at their end [s]
    evenings_missed: Annotated[float, between("share", "0 %", "90 %")] = 0.1  # of each person's days, where it is asked how likely a plan is
    quiet: _Quiet = QUIET  # hours of every day in which no alarm rings that can wait
    people: dict[Name, Person] = Field(default_factory=dict)
    apiaries: dict[Name, Apiary] = Field(default_factory=dict)  # where the hives stand, where that is at more than one place
    room: Room
    store: Store | None = None
    equipment: dict[str, Equipment] = Field(default_factory=dict)
    reserved: tuple[Reservation, ...] = ()
    season: _Season = Field(default_factory=Season)  # "season:" with nothing but comments below it says nothing
    normals: Normals | None = None
    degree_days: DegreeDays | None = None
    limits: Limits = Field(default_factory=Limits)
    rules: Names = ()
    changes: dict[str, Any] = Field(default_factory=dict)  # rule set -> what changes in it; checked where rule files are read
    refractometer: _HasOne = True  # "none": capped share and a shake test stand in for readings
    open_cleaning: OpenCleaning = Field(default_factory=OpenCleaning)
    fumigant: YesNo = False
    inspector: Text = ""  # how the bee inspector is reached
    starter_strips: YesNo = False
    container_lead: Annotated[float, between("duration", "0 d", "52 weeks")] = 0.0
    sells: YesNo = True
    market: HoursText | None = None  # when the keeper sells: a want "by market" is by its next opening
    treatment: Name | None = None  # the active ingredient that mites are treated with, of the table in the rule files

    @model_validator(mode="after")
    def _people_clear(self) -> Self:
        """Each person goes by a name of their own and takes what nobody else takes."""
        if faults := list(unclear(self.people)):
            raise several_faults("people", faults)
        return self

    @model_validator(mode="after")
    def _apiaries_clear(self) -> Self:
        """Each apiary goes by a name of its own, has hives that no other has, the yard's clock, and a way that free hours take."""
        span = max(longest(hours) for hours in (self.hands, *(person.hands for person in self.people.values())))
        if faults := list(unclear_apiaries(self.apiaries, self.place.timezone, self.people, span)):
            raise several_faults("apiaries", faults)
        return self

    @model_validator(mode="after")
    def _reservations_fit(self) -> Self:
        """Each reservation names equipment of the yard, in its measure and within what it holds."""
        faults = [found for i, one in enumerate(self.reserved) if (found := self._unfit(i, one))]
        if faults:
            raise several_faults("reserved", faults)
        return self

    def _unfit(self, i: int, one: Reservation) -> tuple[Loc, Any, Fault] | None:
        """What is wrong with the reservation number `i`."""
        name, measure = one.equipment, one.measure or ""
        held = self.equipment.get(name)
        if held is None:
            return ("reserved", i, "equipment"), name, Fault(f'"{name}" is not among the equipment', instead(name, self.equipment))
        if held.measure != measure:
            cure = f'"{held.measure}: ..."' if held.measure else f"what the {name} holds, under equipment"
            return ("reserved", i, measure), one.amount, Fault(f"what the {name} holds is not measured as {measure}", cure)
        if held.capacity is not None and one.amount > held.capacity:
            return ("reserved", i, measure), one.amount, Fault(f"more is taken than the {name} holds", "at most what is under equipment")
        return None

    @property
    def kinds(self) -> dict[str, str]:
        """What rule files call each piece of equipment: its kind, or its name where none is written."""
        return {name: one.kind or name for name, one in self.equipment.items()}

    def of_kind(self, kind: str) -> dict[str, Equipment]:
        """The equipment of a kind ("freezer"), by name."""
        return {name: self.equipment[name] for name, found in self.kinds.items() if found == kind}

    @property
    def freezers(self) -> dict[str, Equipment]:
        """The freezers, by name."""
        return self.of_kind(FREEZER)

    def at(self, apiary: str | None) -> Self:
        """The yard as it is at one of its apiaries: place, season and usual temperatures; itself for None."""
        if apiary is None:
            return self
        one = self.apiaries[apiary]
        place = self.place.model_copy(update={"latitude": one.place.latitude, "longitude": one.place.longitude}) if one.place else self.place
        return self.model_copy(update={"place": place, "season": self.season.overlaid(one.season), "normals": one.normals or self.normals})

    def travel(self, apiary: str | None) -> int:
        """The way from the honey room to an apiary, one way, in whole minutes [s]; none for None."""
        return ceil_to_minute(self.apiaries[apiary].travel) if apiary is not None else 0

    def hours_of(self, person: str | None) -> Hours:
        """The free hours of a person; of the keeper for None."""
        return self.hands if person is None else self.people[person].hands

    def day_normals(self, day: date) -> tuple[float, float] | None:
        """The usual day and night temperature [°C] at a date, or None where the file gives no normals."""
        return self.normals.on(day) if self.normals else None


def read_yard(content: bytes, path: str) -> Yard:
    """The yard of one file's bytes. Raises `Refused` with every fault and its place."""
    return record(read(content, path, "yard"), Yard)
