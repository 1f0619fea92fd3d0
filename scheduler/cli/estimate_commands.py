"""`afterpull estimate`: one estimate by itself, with its range, what it rests on and its sources."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from scheduler.cli.errors import InputRefused
from scheduler.cli.estimate_answer import Row, answers, rounded, shape_of
from scheduler.cli.quantity_options import Size, option
from scheduler.cli.table_options import TableOptions, table_options

if TYPE_CHECKING:
    from scheduler.quantities import Estimate

_MONTHS = ["January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December"]


@click.group()
def estimate() -> None:
    """One estimate by itself: value, range, what it rests on, sources. Quantities carry units, metric or US."""


answer = answers(estimate)
PACKAGE = click.option(
    "--package", type=click.Choice(["none", "film", "clamshell", "carton"]), default="none", show_default=True, help="What the piece is packed in."
)
SURFACE = option("--surface", "surface coefficient", 'Surface coefficient of the air, such as "8 W/m2K".')
SIZE = click.option("--size", type=Size(3), required=True, help='Sides of one piece, such as "102 x 51 x 32 mm".')
START = option("--from", "temperature", "Temperature it starts at.", required=True)
TEMPERATURE = option("--temperature", "temperature", "Temperature.", required=True)
MOISTURE = option("--moisture", "share", 'Water in the honey, such as "17.4 %".', required=True)
HUMIDITY = option("--humidity", "share", 'Humidity of the air, such as "50 %".', required=True)


@answer('freeze --size "102 x 51 x 32 mm" --from "21 °C" --freezer "-18 °C" --package clamshell --pieces 8')
@SIZE
@START
@option("--freezer", "temperature", "Measured temperature of the freezer's air.", required=True)
@SURFACE
@PACKAGE
@click.option("--pieces", type=click.IntRange(1, 10_000), default=1, show_default=True, help="Pieces frozen at once.")
@option("--space", "volume", "Usable space: pieces that do not lie in one layer count as one body; without --rated it says what may be put in a day.")
@click.option("--touching/--apart", default=None, help="Whether the pieces touch.")
@option("--error", "temperature difference", "By how much the freezer may be off either way. Default: as a thermometer that is read now and then.")
@click.option("--air", type=click.Choice(["still", "fan"]), default="still", show_default=True, help="Air of the freezer.")
@option("--rated", "mass rate", 'Freezing capacity on the label, such as "9 kg/day".')
@option("--beside", "mass", "Mass that is already holding in the freezer.")
@option("--until", "temperature", "Only the cooling time of the core to this temperature.")
def freeze(**given: Any) -> Estimate:
    """Time in the freezer until wax moth in the middle is dead; or, with --until, until the middle is that cold."""
    from scheduler.estimates import freeze as freezing
    from scheduler.estimates.callable_estimates import freezers_of, package_of
    from scheduler.quantities import say
    from scheduler.rules.load import load as rules

    trade = rules().trade
    by, package = freezers_of(trade), package_of(given["package"], trade)
    freezer = freezing.Freezer(given["freezer"], by, given["air"], given["rated"], given["surface"], given["space"], given["error"])
    load = freezing.packed(given["pieces"], given["size"], package, given["from"], by, space=given["space"], touching=given["touching"])
    found = freezing.lethal_hold(load, freezer) if given["until"] is None else freezing.cooling_time(load, freezer, given["until"])
    warning = freezing.warm_beside_cold(load.mass, load.start, given["beside"] or 0.0, freezer)
    return found._replace(basis=(*found.basis, say("warning", says=warning))) if warning else found


@answer('thaw --size "102 x 51 x 32 mm" --from "-18 °C" --room "21 °C" --humidity "50 %"')
@SIZE
@START
@option("--room", "temperature", "Temperature of the room.", required=True)
@HUMIDITY
@PACKAGE
@SURFACE
@click.option("--pieces", type=click.IntRange(1, 10_000), default=1, show_default=True, help="Packages that thaw as one block.")
def thaw(**given: Any) -> Estimate:
    """Time a package stays closed until its comb is above the room's dew point with a margin."""
    from scheduler.estimates.callable_estimates import margin_of, package_of
    from scheduler.estimates.thaw import thaw_time
    from scheduler.rules.load import load

    trade = load().trade
    air, package = (given["room"], given["humidity"]), package_of(given["package"], trade)
    return thaw_time(given["size"], package, given["from"], *air, margin_of(trade), stacked=given["pieces"], surface=given["surface"])


@answer('temper --thickness "32 mm" --from "5 °C" --room "21 °C" --to "18 °C"')
@option("--thickness", "length", "Thickness of the comb.", required=True)
@START
@option("--room", "temperature", "Temperature of the room.", required=True)
@option("--to", "temperature", "Temperature the middle has to reach.", default="18 °C", show_default=True)
def temper(**given: Any) -> Estimate:
    """Time until the middle of a comb standing free is warm enough to cut."""
    from scheduler.estimates.thaw import temper_time

    return temper_time(given["thickness"], given["from"], given["room"], given["to"])


@answer('cool --mass "12 kg" --from "65.6 °C" --to "43 °C" --room "21 °C"')
@option("--mass", "mass", "Honey in the vessel.", required=True)
@START
@option("--to", "temperature", "Temperature to pour at.", default="43 °C", show_default=True)
@option("--room", "temperature", "Temperature of the room.", required=True)
def cool(**given: Any) -> Estimate:
    """Time a stirred vessel of warm honey takes to pouring temperature."""
    from scheduler.estimates.thaw import vessel_time

    return vessel_time(given["mass"], given["from"], given["to"], given["room"])


@answer('warm --bucket "20 L" --from "12 °C" --around "40 °C" --to "35 °C"')
@option("--bucket", "volume", "Volume of the bucket, full of honey.", required=True)
@START
@option("--around", "temperature", "Temperature of the warm room or cabinet.", required=True)
@option("--to", "temperature", "Temperature the middle has to reach.", default="35 °C", show_default=True)
def warm(**given: Any) -> Estimate:
    """How long a bucket of honey takes to warm to its middle, not stirred."""
    from scheduler.estimates.thaw import bucket_time

    return bucket_time(given["bucket"], given["from"], given["around"], given["to"])


@answer('drain --temperature "21 °C" --moisture "17.4 %"')
@TEMPERATURE
@MOISTURE
def drain(temperature: float, moisture: float) -> Estimate:
    """Time cut comb drains on a rack."""
    from scheduler.estimates.callable_estimates import drained_of
    from scheduler.estimates.flow import drain_time
    from scheduler.rules.load import load

    return drain_time(temperature, moisture, drained_of(load().trade))


@answer('settle --temperature "27 °C" --moisture "17 %" --depth "35 cm"')
@TEMPERATURE
@MOISTURE
@option("--depth", "length", "Depth of honey in the tank.", required=True)
@option("--bubble", "length", "Diameter of the bubbles to wait for. Default: as the rules of extracted honey have it.")
def settle(temperature: float, moisture: float, depth: float, bubble: float | None) -> Estimate:
    """Time until bubbles have risen out of a tank."""
    from scheduler.estimates.callable_estimates import bubble_of
    from scheduler.estimates.flow import settle_time
    from scheduler.rules.load import load

    return settle_time(temperature, moisture, depth, bubble_of(load().trade) if bubble is None else bubble)


@answer('viscosity --temperature "25 °C" --moisture "17.1 %"')
@TEMPERATURE
@MOISTURE
def viscosity(temperature: float, moisture: float) -> Estimate:
    """Viscosity of honey."""
    from scheduler.estimates.flow import viscosity as found

    return found(temperature, moisture)


@answer('moisture --index 1.4915 --at "20 °C"')
@click.option("--index", type=float, help="Refractive index as read.")
@click.option("--brix", type=float, help="Degrees Brix as read.")
@option("--at", "temperature", "Temperature of the honey at the reading.", default="20 °C", show_default=True)
def moisture(index: float | None, brix: float | None, at: float) -> Estimate:
    """Water in honey from a refractometer reading."""
    from scheduler.estimates.moisture import from_brix, from_index

    if index is not None and brix is None:
        return from_index(index, at)
    if brix is not None and index is None:
        return from_brix(brix, at)
    raise InputRefused("one reading is needed\n    write --index 1.4915, or --brix 80.2")


@answer('ferment --moisture "18.2 %" --yeast 8')
@MOISTURE
@click.option("--yeast", type=click.FloatRange(min=0), help="Yeasts counted in a gram.")
def ferment(moisture: float, yeast: float | None) -> Row:
    """Whether honey keeps: safe, at risk (it depends on yeast not counted), or ferments."""
    from scheduler.estimates import citations
    from scheduler.estimates import moisture as water
    from scheduler.estimates.callable_estimates import keeps_of
    from scheduler.rules.load import load

    if not 0 < moisture < 0.4:
        raise InputRefused('honey has between 0 and 40 % of water\n    write --moisture "17.4 %"')
    word = water.fermentation(moisture, yeast, keeps_of(load().trade))
    basis = [
        f"{moisture * 100:g} % of water, yeast {'not counted' if yeast is None else f'{yeast:g} per g'}",
        f"kept at {water.SAFE_STORE:g} °C or colder it does not ferment",
    ]
    return {"value": word, "unit": "", "low": word, "high": word, "basis": basis, "sources": [citations.FERMENTATION]}


@answer('dry --moisture "19.5 %" --target "18 %" --temperature "32 °C" --humidity "35 %"')
@MOISTURE
@option("--target", "share", "Water to come down to.", required=True)
@TEMPERATURE
@HUMIDITY
@option("--capped", "share", "Share of cells that are capped.", default="0 %", show_default=True)
def dry(**given: Any) -> Estimate:
    """When to measure again honey that dries in the comb; never "ready"."""
    from scheduler.estimates.moisture import drying_time

    return drying_time(given["moisture"], given["target"], given["temperature"], given["humidity"], given["capped"])


@answer('blend --first "19.4 %" --second "16.8 %" --to "18 %"')
@option("--first", "share", "Water of one lot.", required=True)
@option("--second", "share", "Water of the other lot.", required=True)
@option("--to", "share", "Water the mixture is to have.", required=True)
def blend(first: float, second: float, to: float) -> Estimate:
    """Share of the first lot in a mixture of two."""
    from scheduler.estimates.moisture import blend as mixed

    return mixed(first, second, to)


@answer('dew --temperature "21 °C" --humidity "50 %"')
@TEMPERATURE
@HUMIDITY
def dew(temperature: float, humidity: float) -> Estimate:
    """Dew point of the room's air."""
    from scheduler.estimates.dew import dew as found

    return found(temperature, humidity)


@answer('pack --frame shallow --piece "4 x 2 in" --thickness "1.25 in"')
@click.option("--frame", type=click.Choice(["shallow", "medium", "deep"]), required=True, help="Depth of the frame (not of the box).")
@click.option("--piece", type=Size(2), required=True, help='Sides of a piece, such as "4 x 2 in".')
@option("--thickness", "length", "Thickness of the comb.", required=True)
@click.option("--frames", type=click.IntRange(1, 10_000), default=1, show_default=True, help="Frames to cut.")
@PACKAGE
def pack(**given: Any) -> Row:
    """Pieces from frames, about what they weigh, and the space they take; a label's weight comes from the scale."""
    from scheduler.estimates.callable_estimates import comb_of, package_of
    from scheduler.estimates.packing import package_volume, piece_mass, pieces_per_frame
    from scheduler.rules.load import load

    (length, width), trade = given["piece"], load().trade
    one, frames = pieces_per_frame(given["frame"], comb_of(given["frame"], trade), length, width), given["frames"]
    mass = piece_mass(length, width, given["thickness"])
    volume = package_volume(length, width, given["thickness"], package_of(given["package"], trade))
    shape = shape_of(one._replace(value=one.value * frames, low=one.low * frames, high=one.high * frames))
    shape["basis"] += [
        f"one piece, every cell full: about {mass * 1000:.0f} g; cut pieces differ: weigh each after draining, and label what the scale says",
        f"space of one package: {volume * 1000:.2f} L",
    ]
    return {**shape, "piece_mass_kg": rounded(mass), "package_volume_l": rounded(volume * 1000)}


@answer('label --mass "231.4 g"')
@option("--mass", "mass", "Comb in one package as weighed after draining, without the package.", required=True)
@click.option("--first", type=click.Choice(["us", "metric"]), default="us", show_default=True, help="Which unit stands first.")
def label(mass: float, first: str) -> Row:
    """Net weight for the label of one weighed package, in both units; never from the size of a piece."""
    from scheduler.estimates import citations
    from scheduler.estimates.packing import net_weight, tolerable_shortfall

    text, short = net_weight(mass, first), tolerable_shortfall(mass)
    allowed = f"one may be {short * 1000:g} g short, none twice that, the average not at all" if short else "the published table ends here"
    basis = [
        "rounded down in both units; packages of differing weights (catchweight) are weighed one by one, each with its own net weight",
        f"in packs of one constant weight, such as jars: {allowed}",
    ]
    sources = [citations.ROUNDING, citations.CATCHWEIGHT, citations.SHORTFALL]
    return {"value": text, "unit": "", "low": text, "high": text, "basis": basis, "sources": sources}


@answer("dusk --latitude 46.31 --longitude 14.18 --date 2026-08-11 --timezone Europe/Ljubljana")
@click.option("--latitude", type=float, required=True, help="Degrees, north positive.")
@click.option("--longitude", type=float, required=True, help="Degrees, east positive.")
@click.option("--date", "day", type=click.DateTime(["%Y-%m-%d"]), required=True, help="The day, such as 2026-08-11.")
@click.option("--timezone", required=True, help="IANA time zone.")
@click.option("--event", type=click.Choice(["dawn", "sunrise", "sunset", "dusk"]), default="dusk", show_default=True, help="Which event.")
def dusk(latitude: float, longitude: float, day: datetime, timezone: str, event: Any) -> Row:
    """Local time of sunset or civil dusk; no such event is an answer too."""
    from zoneinfo import ZoneInfo

    from scheduler.estimates import citations, sun
    from scheduler.local_time import in_years

    in_years(day, day.date())
    moment = sun.sun_event(latitude, longitude, day.date(), event, timezone)
    reason = sun.why_none(latitude, longitude, day.date(), event, timezone)
    value = moment.astimezone(ZoneInfo(timezone)).isoformat(timespec="seconds") if moment else None
    basis = [reason or f"{event} of {day.date()} at {latitude:g}, {longitude:g}: real refraction can move it by a minute or more"]
    return {"value": value, "unit": "ISO 8601 time" if value else "none", "low": value, "high": value, "basis": basis, "sources": [citations.SUN]}


@answer('degree-days weather.csv --base "10 °C" --upper "30 °C"')
@click.argument("file", required=False, type=click.Path(path_type=Path))
@option("--base", "temperature", "Lower threshold.", required=True)
@option("--upper", "temperature", "Upper threshold, cut off above.")
@click.option(
    "--method",
    type=click.Choice(["sine", "simple", "substitution"]),
    default="sine",
    show_default=True,
    help="Method; a threshold holds with its own method only.",
)
@option("--low", "temperature", "Lowest temperature of one day, instead of a file.")
@option("--high", "temperature", "Highest temperature of one day.")
@table_options
@click.option("--from", "begins", type=click.Choice(_MONTHS), default="January", show_default=True, help="Month in which the sums begin.")
@click.option("--rows", is_flag=True, help="Print each day too.")
@option("--sum", "degree days", "Also show the first day of each year that reaches this sum.")
def degree_days(**given: Any) -> Any:
    """Degree days of a daily table (date, lowest, highest), or of one day."""
    from scheduler.estimates import degree_days

    rule = (given["base"], given["upper"], given["method"])
    if given["file"] is None:
        if given["low"] is None or given["high"] is None:
            raise InputRefused('a table or a day is needed\n    write a file, or --low "7 °C" --high "14 °C"')
        found = degree_days.one_day(given["low"], given["high"], *rule)
        return found, [{"date": None, "degree_days": rounded(found.value), "sum": rounded(found.value)}]
    start = (_MONTHS.index(given["begins"]) + 1, 1)
    options = TableOptions(*(given[name] for name in TableOptions._fields))
    rows, found = degree_days.accumulate(options.daily_table(given["file"], "weather"), *rule, start)
    shape = shape_of(found)
    for key, sums, part in zip(("years", "part_years"), degree_days.season_sums(rows, start), ("", ", in part"), strict=True):
        shape[key] = {str(year): rounded(total) for year, total in sums.items()}
        shape["basis"] += [f"{year} from {given['begins']}{part}: {total:.4g} °C d" for year, total in sums.items()]
    if given["sum"] is not None:
        reached = degree_days.dates_reached(rows, given["sum"], start)
        middle, first, last = degree_days.normal_day(reached, start)
        shape["reached"] = {str(year): day.isoformat() for year, day in reached.items()}
        shape["basis"].append(f"sum reached in {len(reached)} years; middle {_month_day(middle)}, from {_month_day(first)} to {_month_day(last)}")
    if not given["rows"]:
        return shape, None
    return shape, [{"date": row.day.isoformat(), "degree_days": rounded(row.amount), "sum": rounded(row.total), "filled": row.filled} for row in rows]


def _month_day(day_of_year: int) -> str:
    return date.fromordinal(date(2025, 1, 1).toordinal() + day_of_year - 1).strftime("%d %B").lstrip("0")


@answer("dearth scale.csv")
@click.argument("file", type=click.Path(path_type=Path))
@table_options
def dearth(file: Path, **said: Any) -> Any:
    """Flow and dearth from a hive scale: a daily table (date, mass), one reading a day before dawn."""
    from scheduler.estimates import season_marks as scale
    from scheduler.rules.load import load

    days, found = scale.states(TableOptions(**said).daily_table(file, "scale"), scale.thresholds_of(load().trade))
    shape = {**shape_of(found), "unit": "kg/day"}
    return shape, [{"date": day.day.isoformat(), "gain": None if day.gain is None else rounded(day.gain), "state": day.state} for day in days]


@answer('inspect --temperature "18 °C"')
@option("--temperature", "temperature", "Temperature of the store, if it is steady.")
@click.option("--series", "file", type=click.Path(path_type=Path), help="Daily table (date, lowest, highest) of the store since the last look.")
@table_options
def inspect(temperature: float | None, file: Path | None, **said: Any) -> Estimate:
    """When stored comb has to be looked at again."""
    from scheduler.estimates import degree_days, pests
    from scheduler.estimates.callable_estimates import eggs_of, looks_of
    from scheduler.rules.load import load

    trade = load().trade
    looks, eggs = looks_of(trade), eggs_of(trade)
    if file is not None and temperature is None:
        return pests.inspection_from_series(degree_days.daily_means(TableOptions(**said).daily_table(file, "weather")), looks, eggs)
    if temperature is not None and file is None:
        return pests.inspection_interval(temperature, looks, eggs)
    raise InputRefused('one of the two is needed\n    write --temperature "18 °C", or --series store.csv')
