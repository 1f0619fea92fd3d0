"""A harvest: when it was pulled, from which hives, and its lots; a lot is what was pulled together and is treated alike."""

import re
import string
from collections.abc import Iterable, Iterator, Mapping
from datetime import UTC, datetime
from typing import Annotated, Any, NamedTuple, Self
from zoneinfo import ZoneInfo

from pydantic import AfterValidator, BeforeValidator, ModelWrapValidatorHandler, PlainValidator, PrivateAttr, ValidationInfo, WithJsonSchema, model_validator

from scheduler.diagnostics import Fault, Refused, instead
from scheduler.documents import File, Record, read, record
from scheduler.facts.apiaries import apiary_of
from scheduler.facts.values import Id, Loc, Name, Names, Reads, Text, YesNo, between, one_of, several_faults, whole
from scheduler.facts.yard import Yard
from scheduler.local_time import DAY, floor_to_minute, in_years
from scheduler.quantities import parse

KINDS = ("cut comb", "chunk honey", "extracted", "dry comb")
COMB = ("cut comb", "chunk honey")  # of these, the lots that are sold with their comb
BLENDED = "blended"  # the kind of a lot that others met in; no harvest file names it
FRAMES = ("shallow", "medium", "deep")
PACKAGES = ("none", "film", "clamshell", "carton")
AILMENTS = ("foulbrood", "slime", "other")  # what `disease` may name: slime is small hive beetle's; other is any brood disease but foulbrood
HONEY_DENSITY = 1421.0  # kg/m³ at 17 % water and 20 °C; from memory
SIZE_SAMPLE = '"102 x 51 mm" or "4 x 2 in"'
_TEXT = {"type": "string"}
UNNAMED = "hive"  # with a number, a hive that the harvest file does not name
EVERY_HIVE = "all"  # the hives of the apiary, where it does not matter which
MOST_HIVES = 1_000
MOST_AHEAD = 366 * DAY  # a pull is planned for no later than this [s]; assumed
SHORTEST_SIDE, LONGEST_SIDE = 0.01, 0.5  # of a piece cut from a frame [m]; a frame is 0.48 m long (common practice)
_NUMBER = r"\d+(?:\.\d+)?(?:\s+\d+/\d+)?|\d+/\d+"
_SIZE = re.compile(rf"(?P<one>{_NUMBER})\s*(?P<first>[a-zµ]*)\s*(?:x|×|by)\s*(?P<two>{_NUMBER})\s*(?P<unit>[a-zµ]+)")


def read_size(value: Any) -> tuple[float, float]:
    """Length and width [m] of a piece, the longer side first, from "102 x 51 mm" or "4 x 2 in"."""
    match = _SIZE.fullmatch(str(value).strip())
    if not match:
        raise Fault(f'"{value}" is not the size of a piece', SIZE_SAMPLE)
    sides = (parse(f"{match['one']} {match['first'] or match['unit']}", "length"), parse(f"{match['two']} {match['unit']}", "length"))
    if min(sides) < SHORTEST_SIDE or max(sides) > LONGEST_SIDE:
        raise Fault(f'"{value}" cannot be cut from a frame', f"sides from 10 mm to 500 mm, such as {SIZE_SAMPLE}")
    return max(sides), min(sides)


def read_jar(value: Any) -> float:
    """The volume of a jar [m³], from "370 mL" or from the honey it takes, "500 g"."""
    text = str(value)
    try:
        volume = parse(text, "volume")
    except Fault:
        try:
            volume = parse(text, "mass") / HONEY_DENSITY
        except Fault:
            raise Fault(f'"{text}" is not the size of a jar', '"500 g" or "1 lb" of honey, or "370 mL"') from None
    if not 1e-5 <= volume <= 0.03:
        raise Fault(f'"{text}" is not the size of a jar', "10 mL to 30 L")
    return volume


def read_yeast(value: Any) -> float:
    """A yeast count per gram, bare or as "1000 per g"."""
    text = re.sub(r"\s*(?:per g|/g)$", "", str(value).strip())
    if not re.fullmatch(r"\d+(?:\.\d+)?(?:e\d+)?", text):
        raise Fault(f'"{value}" is not a yeast count', '"1000 per g"')
    return float(text)


def read_disease(value: Any) -> str | None:
    """The ailment of the hive a lot came from; a bare yes is read as the worst, foulbrood, and no as none."""
    if value in (True, "yes"):
        return "foulbrood"
    if value in (False, None, "no"):
        return None
    if value not in AILMENTS:
        raise Fault(f'"{value}" is not an ailment known here', f"no, {', '.join(AILMENTS)}")
    return str(value)


class Product(NamedTuple):
    """A kind of product that a rule set brings: the kind that it is worked and reckoned like, and what is usual of a lot of it, as a harvest file writes it."""

    like: str
    usual: Mapping[str, Any] = {}


def read_kind(value: Any, info: ValidationInfo) -> str:
    """A kind of lot: one of `KINDS`, or one that a rule set in force brings."""
    known = [*KINDS, *products_of(info)]
    if value not in known:
        raise Fault(f'"{value}" is not known here', instead(str(value), known))
    return str(value)


def products_of(info: ValidationInfo) -> Mapping[str, Product]:
    """The products that the rules in force bring, as whoever reads a harvest knows them."""
    found: Mapping[str, Product] = (info.context or {}).get("products", {})
    return found


class Lot(Record):
    """What the harvest file tells of a lot, in SI. Defaults are common practice (piece, thickness) or assumed (capped, jar, package)."""

    id: Id
    kind: Annotated[str, PlainValidator(read_kind), WithJsonSchema({"enum": [*KINDS]})]
    frames: Annotated[int, whole("frames", 10_000)]
    frame: Annotated[str, one_of(*FRAMES)]
    boxes: Annotated[int | None, whole("boxes", 1_000)] = None
    comb_thickness: Annotated[float, between("length", "5 mm", "80 mm", " for comb in a frame")] = 0.035
    piece: Annotated[tuple[float, float], Reads(read_size, _TEXT)] = (0.1016, 0.1016)
    pieces: Annotated[int | None, whole("pieces", 100_000)] = None
    imperfect: Annotated[float, between("share", "0 %", "100 %")] = 0.0
    package: Annotated[str, one_of(*PACKAGES)] = "clamshell"
    stowed: Annotated[str | None, one_of("spaced", "stacked")] = None  # in the freezer and out of it; None: as the freezer says
    jar: Annotated[float, Reads(read_jar, _TEXT)] = 0.5 / HONEY_DENSITY
    buckets: Annotated[float | None, between("volume", "1 L", "100 L", " for a bucket")] = None  # its honey goes into buckets of this volume; None: into jars
    capped: Annotated[float, between("share", "0 %", "100 %")] = 0.9
    moisture: Annotated[float | None, between("share", "13 %", "25 %", " for honey; refractometer tables run from 13 to 25 %")] = None
    yeast: Annotated[float | None, Reads(read_yeast, {"type": ["string", "number"]})] = None  # per gram
    comb_temperature: Annotated[float | None, between("temperature", "-30 °C", "60 °C", " for comb")] = None
    disease: Annotated[str | None, Reads(read_disease, {"enum": [True, False, "yes", "no", None, *AILMENTS]})] = None
    treated: YesNo = False
    beetle: YesNo = False
    heather: YesNo = False  # ling heather (Calluna), whose honey is a jelly; bell heather drains and spins as other honey does
    sets_soon: YesNo = False  # honey that granulates in the comb within days, as of rape or hawthorn
    settles_with: Names = ()  # other extracted lots of the harvest whose honey goes into the same tank, and is one lot from then on

    _product: str = PrivateAttr("")

    @model_validator(mode="wrap")
    @classmethod
    def _as_product(cls, written: Any, handler: ModelWrapValidatorHandler[Self], info: ValidationInfo) -> Self:
        """A lot of a product that a rule set brings is one of the kind that it is like, and usual in its own way."""
        kind = written.get("kind") if isinstance(written, dict) else None
        product = products_of(info).get(kind) if isinstance(kind, str) else None
        if product is None:
            return handler(written)
        lot = handler({**product.usual, **written, "kind": product.like})
        lot._product = str(kind)
        return lot

    @property
    def product(self) -> str:
        """What the harvest file calls it: its kind, or the product of that kind."""
        return self._product or self.kind


PULLED_SAMPLE = "2026-08-11T10:30 (local time at the yard)"


def read_pulled(value: Any) -> datetime:
    """The time of the pull: local time at the yard, or with an offset; between the years 1950 and 2149."""
    if isinstance(value, datetime):
        return value
    text = str(value).strip()
    if re.fullmatch(r"\d{4}-\d{2}-\d{2}", text):
        raise Fault(f'"{text}" has no time of day', f"{text}T10:30 (local time at the yard)")
    try:
        if not re.match(r"\d{4}-\d{2}-\d{2}[T ]", text):
            raise ValueError(text)
        pulled = datetime.fromisoformat(text)
    except ValueError:
        raise Fault(f'"{text}" is not a date and time', PULLED_SAMPLE) from None
    return in_years(pulled, text)


def _told_apart(lots: tuple[Lot, ...]) -> tuple[Lot, ...]:
    """Refuse a harvest without lots and lots of the same id."""
    if not lots:
        raise Fault("a harvest has at least one lot", "- {id: a, kind: extracted, frames: 9, frame: medium}")
    faults: list[tuple[Loc, Any, Fault]] = []
    first: dict[str, int] = {}
    for i, lot in enumerate(lots):
        if lot.id in first:
            faults.append(((i, "id"), lot.id, Fault(f'the lot "{lot.id}" stands twice', f'another id, such as "{_free(lots)}"')))
        first.setdefault(lot.id, i)
    faults += _cannot_meet(lots)
    if faults:
        raise several_faults("lots", faults)
    return lots


def _cannot_meet(lots: tuple[Lot, ...]) -> Iterator[tuple[Loc, Any, Fault]]:
    """Lots that go into one tank with what is no extracted lot of the harvest, with themselves, or into two tanks."""
    spun = [lot.id for lot in lots if lot.product == "extracted"]
    met: dict[str, str] = {}
    for i, lot in enumerate(lots):
        if lot.settles_with and lot.id not in spun:
            yield (i, "settles with"), lot.settles_with, Fault(f"a lot of {lot.product} goes into no settling tank", "this key on a lot of extracted honey")
            continue
        for name in (lot.id, *lot.settles_with) if lot.settles_with else ():
            if name not in spun:
                yield (i, "settles with"), name, Fault(f'the harvest has no extracted lot "{name}"', instead(name, [one for one in spun if one != lot.id]))
            elif name in met:
                told = "a lot does not meet itself" if met[name] == lot.id else f'the lot "{name}" meets others in a tank already'
                yield (i, "settles with"), name, Fault(told, "each lot in one tank")
            met.setdefault(name, lot.id)


def _free(lots: tuple[Lot, ...]) -> str:
    taken = {lot.id for lot in lots}
    return next((letter for letter in string.ascii_lowercase if letter not in taken), "lot-27")


def read_hives(value: Any) -> Any:
    """The names of hives; of a mere number of them ("hives: 3") names that no keeper uses, so that all that is said of hives is said of the apiary."""
    if isinstance(value, int) and not isinstance(value, bool):
        if not 1 <= value <= MOST_HIVES:
            raise Fault(f"{value} is not a number of hives", f"a number from 1 to {MOST_HIVES}, or their names: [north, ridge]")
        return [f"{UNNAMED} {number}" for number in range(1, value + 1)]
    return value


class Harvest(File):
    """The harvest file. `pulled` without an offset is local time at the yard; `pulled_at` gives the moment."""

    harvest: Id
    pulled: Annotated[datetime, Reads(read_pulled, _TEXT)]
    without_bees: Annotated[float, between("duration", "0 h", "14 d")] = 0.0  # how long before the pull the bees left the boxes (escape board)
    hives: Annotated[Names, BeforeValidator(read_hives, json_schema_input_type=int | str | list[str])] = ()
    at: Name | None = None  # the apiary, where the yard has several and the hives do not say it
    more_to_come: YesNo | None = None  # whether the same hives are pulled again this season; None where it is not said
    lots: Annotated[tuple[Lot, ...], AfterValidator(_told_apart)]
    note: Text = ""


def pulled_at(harvest: Harvest, zone: ZoneInfo) -> datetime:
    """The moment of the pull in the yard's zone. A time that comes twice, as clocks go back, is the first of the two.

    Raises `Fault` for a time that does not exist because clocks go forward over it.
    """
    pulled = harvest.pulled
    if pulled.tzinfo is not None:
        return pulled.astimezone(zone)
    local = pulled.replace(tzinfo=zone)
    shown = local.astimezone(UTC).astimezone(zone)
    if shown.replace(tzinfo=None) != pulled:
        skipped = f"clocks in {zone.key} go forward over {pulled:%H:%M} on {pulled.day} {pulled:%B %Y}, so that time does not exist"
        raise Fault(skipped, f"{shown:%Y-%m-%dT%H:%M}, which a clock not yet set forward shows as {pulled:%H:%M}")
    return local


def pulled_in(harvest: Harvest, yard: Yard) -> str | None:
    """The apiary that a harvest was pulled in; None where the yard names none, or where it was logged before they were named and is not clear."""
    try:
        return apiary_of(harvest.at, harvest.hives, yard.apiaries, harvest.harvest) if yard.apiaries else None
    except Fault:
        return None


def still_ahead(harvests: Iterable[Harvest], zone: ZoneInfo, as_of: int) -> dict[str, int]:
    """For when each harvest is planned [s since 1970], of those whose pull lies after `as_of`."""
    moments = {harvest.harvest: floor_to_minute(pulled_at(harvest, zone).timestamp()) for harvest in harvests}
    return {name: at for name, at in moments.items() if at > as_of}


def check_against(harvest: Harvest, yard: Yard, as_of: int | None = None) -> list[tuple[Loc, Fault]]:
    """What is wrong with a harvest in this yard at a time [s since 1970], each with its place in the file."""
    try:
        pulled = pulled_at(harvest, ZoneInfo(yard.place.timezone))
    except Fault as fault:
        return [(("pulled",), fault)]
    if as_of is not None and pulled.timestamp() > as_of + MOST_AHEAD:
        now = datetime.fromtimestamp(as_of, pulled.tzinfo)
        ahead = f"the pull on {pulled:%Y-%m-%d at %H:%M} lies more than a year after the time that is planned from, {now:%Y-%m-%d at %H:%M}"
        return [(("pulled",), Fault(ahead, "the time at which the supers came off, or are planned to"))]
    return [] if as_of is None else _unclear_place(harvest, yard)


def _unclear_place(harvest: Harvest, yard: Yard) -> list[tuple[Loc, Fault]]:
    """Why it is not clear in which apiary a harvest was pulled."""
    try:
        if yard.apiaries:
            apiary_of(harvest.at, harvest.hives, yard.apiaries, harvest.harvest)
        elif harvest.at is not None:
            raise Fault(f'the yard file names no apiary, and so not "{harvest.at}"', 'no "at", or the yard\'s apiaries under apiaries')
    except Fault as fault:
        return [(("at" if harvest.at is not None else "hives",), fault)]
    return []


def lot_path(harvest: str, lot: str) -> str:
    """What a lot is called outside of its harvest: "ridge-2/a"."""
    return f"{harvest}/{lot}"


def read_harvest(content: bytes, path: str, yard: Yard, as_of: int | None = None, products: Mapping[str, Product] = {}) -> Harvest:
    """The harvest of one file's bytes, pulled in a yard or planned for no more than a year after `as_of` [s since 1970] where that is given.

    `products` are those that the rules in force bring.
    Raises `Refused` with every fault and its place.
    """
    document = read(content, path, "harvest")
    harvest = record(document, Harvest, context={"products": products})
    faults = check_against(harvest, yard, as_of)
    if faults:
        raise Refused([document.fault(loc, f"{loc[0]}: {fault.message}", fault.write) for loc, fault in faults])
    return harvest
