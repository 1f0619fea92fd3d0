"""Every check value with its source, as one list: the tests assert it and the table prints it.

A value is published (somebody else printed it) or a reference (worked out another way, by the method or library named). None is worked out by the code
it checks, nor by the same formula.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import UTC, date, datetime
from typing import NamedTuple

import numpy as np
import psychrolib
from fluids.drag import v_terminal
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq

from scheduler.estimates import comb, conduction, degree_days, dew, flow, freeze, honey, packing, pests, thaw
from scheduler.estimates import moisture as water_content
from scheduler.estimates.callable_estimates import eggs_of
from scheduler.estimates.sun import sun_event
from tests.estimates.practice import BY, MARGIN, TRADE

HOUR, DAY = 3600.0, 86400.0
STEAK = "heat transfer textbook, worked solution 11-44 (steaks in a freezer), one-term answer"
SERIES = "exact product series, roots by scipy, computed before this code was written"
ROOTS = "root of z tan z = Bi by scipy; 4 sin z / (2 z + sin 2 z)"
LEAST = "least of the published pairs, each with its time by the exact product series"
AREA = "area under the sine by scipy"
TABLE_1943 = "viscosity of clover honeys, table of 1943 (decimals from memory; rounded values read)"
USNO_2007 = "U.S. Naval Observatory, rise and set of the sun for 2007, Atlanta"
SKYFIELD = "almanac by the library skyfield 1.55 on the JPL ephemeris DE421"
UC_IPM = "UC IPM, degree-day calculator, Ojai 2016, single sine, 12 and 33 °C"
GROWERS = "growers' column, growing degree days 86/50 °F"


class Check(NamedTuple):
    """One value: what it is, what it should be and ours in the unit told, the greatest difference allowed, and where what it should be is from."""

    topic: str
    case: str
    expected: float
    ours: float
    allowed: float
    unit: str
    source: str
    published: bool = True  # otherwise a reference

    @property
    def difference(self) -> float:
        """Ours less what it should be."""
        return self.ours - self.expected

    @property
    def holds(self) -> bool:
        """Whether the difference is within what is allowed."""
        return abs(self.difference) <= self.allowed


def reference(*words: str | float) -> Check:
    """A check against a value that was worked out another way."""
    return Check(*words, published=False)  # type: ignore[arg-type]


def _design(surface: float) -> comb.Properties:
    return comb.Properties(0.28, 1390.0, 2500.0, surface)


PIECE, BOX, CARTON, COMB = (0.1016, 0.0508, 0.03175), (0.38, 0.46, 0.15), (0.30, 0.20, 0.15), (0.425, 0.115, 0.032)
BODIES = {"piece": PIECE, "box": BOX, "carton": CARTON, "comb": COMB}
# body, W/m²K, hours to -6.7, -12.2, -15 °C from 21 °C in -18 °C; then the middle to 15 °C, 20 °C and the last surface to 10.19 °C, from -18 °C in 21 °C
COOLING = (
    ("piece", 3.5, 3.48, 5.14, 6.78, 5.06, 9.52, 3.35),
    ("piece", 5, 2.62, 3.83, 5.03, 3.77, 7.02, 2.45),
    ("piece", 6, 2.28, 3.32, 4.35, 3.27, 6.05, 2.09),
    ("piece", 8, 1.85, 2.68, 3.48, 2.63, 4.82, 1.64),
    ("piece", 10, 1.59, 2.28, 2.96, 2.25, 4.09, 1.36),
    ("comb", 8, 2.67, 3.93, 5.16, 3.86, 7.20, 2.35),
    ("box", 3.5, 30.87, 43.58, 55.88, 42.94, 76.20, 23.72),
    ("box", 5, 25.47, 35.79, 45.71, 35.27, 62.05, 17.23),
    ("box", 6, 23.28, 32.66, 41.66, 32.20, 56.44, 14.42),
    ("box", 8, 20.47, 28.66, 36.49, 28.25, 49.32, 10.49),
    ("box", 10, 18.73, 26.20, 33.33, 25.83, 44.98, 7.81),
    ("carton", 3.5, 21.44, 30.29, 38.99, 29.85, 53.47, 16.59),
    ("carton", 5, 17.77, 24.83, 31.74, 24.47, 43.23, 12.32),
    ("carton", 6, 16.30, 22.67, 28.90, 22.35, 39.23, 10.51),
    ("carton", 8, 14.44, 19.94, 25.31, 19.66, 34.22, 8.02),
    ("carton", 10, 13.29, 18.28, 23.14, 18.03, 31.19, 6.32),
)
SLAB = (
    (5, 4.34, 6.60, 8.83, 6.49, 12.56, 4.03),
    (6, 3.70, 5.62, 7.52, 5.52, 10.67, 3.36),
    (8, 2.91, 4.40, 5.87, 4.32, 8.32, 2.53),
    (10, 2.43, 3.66, 4.88, 3.60, 6.91, 2.03),
)
GOALS = (("core to -6.7 °C", 11.3 / 39), ("core to -12.2 °C", 5.8 / 39), ("core to -15 °C", 3 / 39), ("middle to 15 °C", 6 / 39), ("middle to 20 °C", 1 / 39))


def _body_rows(name: str, body: conduction.Body, surface: float, hours: tuple[float, ...]) -> Iterator[Check]:
    for (goal, share), expected in zip(GOALS, hours[:5], strict=True):
        yield reference("conduction", f"{name}, {surface:g} W/m²K, {goal}", expected, conduction.time_to(body, share) / HOUR, 0.0101, "h", SERIES)
    ours = conduction.last_surface_time(body, (21 - 10.19) / 39) / HOUR
    yield reference("conduction", f"{name}, {surface:g} W/m²K, last surface to 10.19 °C", hours[5], ours, 0.0101, "h", SERIES)


def conduction_checks() -> Iterator[Check]:
    """Textbook, one-term coefficients, and the reference bodies."""
    steak = conduction.Body((conduction.Axis(0.020, 9.0, 0.45),), 0.45 / 0.91e-7)
    seconds = conduction.time_to(steak, (2 + 11) / (25 + 11), (1.0,))
    yield Check("conduction", "steak 20 mm, 25 °C into -11 °C, surface to 2 °C", 5590, seconds, 5, "s", STEAK)
    z, c = conduction.terms(0.2, 12)[0]
    yield Check("conduction", "first root at Bi 0.2", 0.4328, z, 6e-5, "", STEAK)
    yield Check("conduction", "first coefficient at Bi 0.2", 1.0311, c, 6e-5, "", STEAK)
    for biot in (0.1, 0.5, 1, 2, 5, 10, 100):
        z, c = conduction.terms(biot, 12)[0]
        root = brentq(lambda z, biot=biot: z * math.sin(z) - biot * math.cos(z), 0, math.pi / 2, xtol=1e-14)
        yield reference("conduction", f"first root at Bi {biot:g}", root, z, 1e-9, "", ROOTS)
        yield reference("conduction", f"first coefficient at Bi {biot:g}", 4 * math.sin(root) / (2 * root + math.sin(2 * root)), c, 1e-9, "", ROOTS)
    for z, c, (ours_z, ours_c) in zip(
        (0.62869943, 3.28007048, 6.35499602), (1.06505345, -0.08079858, 0.0223289), conduction.terms(8 * 0.016 / 0.28, 12), strict=False
    ):
        yield reference("conduction", "root at Bi 0.457143", z, ours_z, 1e-8, "", SERIES)
        yield reference("conduction", "coefficient at Bi 0.457143", c, ours_c, 1e-8, "", SERIES)
    slab = comb.slab(0.032, _design(8))
    for hours, centre, surface in ((1, 0.680556, 0.550429), (2, 0.434867, 0.351717), (4, 0.177559, 0.143608)):
        yield reference("conduction", f"slab 32 mm, centre after {hours} h", centre, conduction.unaccomplished(slab, hours * HOUR), 1e-6, "", SERIES)
        yield reference("conduction", f"slab 32 mm, surface after {hours} h", surface, conduction.unaccomplished(slab, hours * HOUR, [1.0]), 1e-6, "", SERIES)
    iron = conduction.Body((conduction.Axis(0.3, 100, 73), conduction.Axis(0.2, 100, 73)), 73 / 2.034e-5)
    yield reference("conduction", "iron beam 300 x 200 mm, 30 to 310 °C in 730 °C", 1281.0, conduction.time_to(iron, 420 / 700), 0.1, "s", SERIES)
    bare = comb.BARE
    for name, surface, *hours in COOLING:
        yield from _body_rows(name, comb.piece(BODIES[name], bare, _design(surface)), surface, tuple(hours))
    for surface, *hours in SLAB:
        yield from _body_rows("frame slab 32 mm", comb.slab(0.032, _design(surface)), surface, tuple(hours))
    for name, surface, all_seconds in (
        ("piece", 8, (6657.1, 9630.3, 12539.7)),
        ("carton", 8, (51970.5, 71784.9, 91120.7)),
        ("box", 5, (91681.3, 128834.3, 164564.6)),
    ):
        for (goal, share), expected in zip(GOALS, all_seconds, strict=False):
            ours = conduction.time_to(comb.piece(BODIES[name], bare, _design(surface)), share)
            yield reference("conduction", f"{name}, {surface} W/m²K, {goal}", expected, ours, 0.06, "s", SERIES)


def freeze_checks() -> Iterator[Check]:
    """Lethal exposure by the minimum over the published pairs."""
    apiary = "IBRA, BEEBOOK vol. II, wax moth, sec. 5.8.1: -15 °C 2 h, -12 °C 3 h, -7 °C 4.5 h; New South Wales DPI: -6.7, -12.2 and -15 °C"
    for (target, seconds), (at, hours) in zip(BY.kills, ((-6.7, 4.5), (-12.2, 3), (-15, 2)), strict=True):
        yield Check("lethal exposure", f"hold at {at:g} °C", hours, seconds / HOUR, 0, "h", apiary)
        yield Check("lethal exposure", f"temperature of the {hours:g} h pair", at, target, 0, "°C", apiary)
    for name, surface, hours in (("piece", 8, 5.48), ("piece", 5, 6.83), ("carton", 8, 18.94), ("carton", 5, 22.27), ("box", 8, 24.97), ("box", 5, 29.97)):
        size = BODIES[name]
        load = freeze.packed(1, size, comb.BARE, 21.0, BY)
        yield reference("lethal exposure", f"{name}, {surface} W/m²K, air -18 °C", hours, _lethal(load, surface), 0.0101, "h", LEAST)
    slab = freeze.Load(lambda of: comb.slab(0.032, of), 2.0, 21.0, ())
    yield reference("lethal exposure", "frame slab, 8 W/m²K, air -18 °C", 7.40, _lethal(slab, 8), 0.0101, "h", LEAST)
    yield reference("lethal exposure", "frame slab, 5 W/m²K, air -18 °C", 8.84, _lethal(slab, 5), 0.0101, "h", LEAST)


def _lethal(load: freeze.Load, surface: float) -> float:
    return freeze.lethal_hold(load, freeze.Freezer(-18.0, BY, surface=surface)).value / HOUR


REFRACTION = (
    (1.5044, 13.0), (1.5033, 13.4), (1.5007, 14.4), (1.4992, 15.0), (1.4982, 15.4), (1.4976, 15.6), (1.4966, 16.0), (1.4951, 16.6), (1.4946, 16.8),
    (1.4940, 17.0), (1.4935, 17.2), (1.4930, 17.4), (1.4925, 17.6), (1.4920, 17.8), (1.4915, 18.0), (1.4910, 18.2), (1.4905, 18.4), (1.4900, 18.6),
    (1.4895, 18.8), (1.4890, 19.0), (1.4865, 20.0), (1.4855, 20.4), (1.4840, 21.0), (1.4790, 23.0), (1.4765, 24.0), (1.4740, 25.0),
)  # fmt: skip
VISCOSITY = (  # °C, %, poise
    (13.7, 16.1, 600.0), (20.6, 16.1, 189.6), (29.0, 16.1, 68.4), (39.4, 16.1, 21.4), (48.1, 16.1, 10.7), (71.1, 16.1, 2.6), (25, 13.7, 420), (25, 14.2, 269),
    (25, 15.5, 138), (25, 17.1, 69.0), (25, 18.2, 48.1), (25, 19.1, 34.9), (25, 20.2, 20.4), (25, 21.5, 13.6),
)  # fmt: skip


def honey_checks() -> Iterator[Check]:
    """Refractometer, viscosity, density, equilibrium humidity, drying, draining, settling."""
    table = "International Honey Commission, refractometric table"
    for index, water in REFRACTION:
        yield Check("refractometer", f"index {index:.4f} at 20 °C", water, 100 * water_content.from_index(index, 20.0).value, 0.03, "% water", table)
    for reading, index in ((75, 1.47787), (80, 1.49071), (85, 1.50398)):
        yield Check("refractometer", f"index {index} at 20 °C in Brix", reading, water_content.brix(index), 0.03, "°Bx", "ICUMSA table of 1974 (from memory)")
    indexes, waters = zip(*sorted(REFRACTION), strict=True)
    at_30 = 18.6 - float(np.interp(1.49 + 10 * 0.00023, indexes, waters))
    uncorrected = 100 * (water_content.from_index(1.49, 20.0).value - water_content.from_index(1.49, 30.0).value)
    between = f"{table}, between its rows, with its 0.00023 for each °C"
    yield reference("refractometer", "error of a reading at 30 °C left uncorrected", at_30, uncorrected, 0.03, "% water", between)
    for temperature, water, poise in VISCOSITY:
        ours = 10 * flow.viscosity(temperature, water / 100).value
        yield Check("viscosity", f"{temperature:g} °C, {water:g} %", poise, ours, 0.1 * poise, "P", TABLE_1943)
    for water, gravity in ((17, 1.423), (18, 1.417)):
        manual = "A Practical Manual of Beekeeping, physical properties of honey (18 %: a secondary copy)"
        yield Check("honey", f"specific gravity at {water} %", gravity, honey.density(water / 100) / 998.2, 0.001, "", manual)
    humidities = "table of equilibrium humidity (a secondary copy)"
    yield Check("honey", "humidity at rest with 18.3 %", 60, 100 * water_content.equilibrium_humidity(0.183), 0.5, "%", humidities)
    for water, humidity in ((17.4, 58), (21.5, 66), (28.9, 76), (33.9, 81)):
        ours = 100 * water_content.equilibrium_moisture(humidity / 100)
        yield Check("honey", f"moisture at rest with {humidity} % humidity", water, ours, 0.24, "% water", humidities)
    for rest, target in ((9.5, 18.6), (9.5, 17.5), (13.0, 18.0)):
        ours = water_content.approach_time(0.20, target / 100, rest / 100, 0.13) / DAY
        stepped = _falling(20, target, rest, 0.13)
        yield reference("honey", f"20 to {target:g} % towards {rest:g} %, uncapped", stepped, ours, 1e-4, "d", "the fall in steps, by scipy's Runge-Kutta")
    foot = _draining_film() * math.sqrt(12 * 0.1 / (1420 * 9.80665 * HOUR))
    ours = flow.film_time(foot, 0.1, 12.0) / HOUR
    yield reference("draining", f"film of 12 Pa·s to {1e6 * foot:.0f} µm, 100 mm down", 1, ours, 0.02, "h", "film equation of 1930 by upwind differences")
    for bubble in (1e-3, 2e-4, 1e-4):
        seconds = 0.35 / v_terminal(D=bubble, rhop=2840.0, rho=1420.0, mu=flow.viscosity(21.0, 0.17).value)
        ours = flow.settle_time(21.0, 0.17, 0.35, bubble).value / HOUR
        yield reference("settling", f"{bubble * 1000:g} mm bubble, 35 cm, 21 °C", seconds / HOUR, ours, 1e-3 * ours, "h", "v_terminal of the library fluids")


def _falling(moisture: float, target: float, rest: float, rate: float) -> float:
    """Days in which moisture [%] falls to `target`."""

    def there(_: float, w: np.ndarray) -> float:
        return float(w[0] - target)

    there.terminal = True  # type: ignore[attr-defined]
    found = solve_ivp(lambda _, w: -rate * (w - rest), (0, 60), [moisture], events=there, rtol=1e-9, atol=1e-9)
    return float(found.t_events[0][0])


def _draining_film(cells: int = 400) -> float:
    """Thickness at the foot of a wall at time 1, of a film h that drains by h_t + (h³/3)_z = 0 from a thick beginning."""
    h, time = np.full(cells, 20.0), 0.0
    while time < 1:
        step = min(0.5 / cells / h.max() ** 2, 1 - time)
        h -= step * cells * np.diff(h**3 / 3, prepend=0.0)
        time += step
    return float(h[-1])


def weather_checks() -> Iterator[Check]:
    """Dew point and degree days."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    for air, humidity in ((21, 50), (25, 50), (20, 60), (21, 40), (21, 60), (21, 70), (10, 90), (5, 80), (15, 50)):
        expected = psychrolib.GetTDewPointFromRelHum(air, humidity / 100)
        ours = dew.dew_point(air, humidity / 100)
        yield reference("dew point", f"{air} °C, {humidity} %", expected, ours, 0.05, "°C", "library PsychroLib 2.5 (ASHRAE formulation)")
    for low, high, amount in ((7.8, 19.4, 2.72), (4.4, 22.2, 3.51), (3.3, 18.9, 2.05), (10.0, 21.7, 4.21), (17.8, 32.2, 13.00)):
        yield Check("degree days", f"{low:g} to {high:g} °C", amount, degree_days.degree_day(low, high, 12, 33), 0.01, "°C d", UC_IPM)
    for low, high in ((7, 14), (7, 10), (13, 14), (7, 40), (35, 40)):
        ours = degree_days.degree_day(low, high, 12, 33)
        yield reference("degree days", f"{low} to {high} °C, 12/33 °C", _under_sine(low, high, 12, 33), ours, 1e-6, "°C d", AREA)
    yield Check(
        "degree days",
        "7 to 14 °C, 12/33 °C, single sine",
        0.47,
        degree_days.degree_day(7, 14, 12, 33),
        0.005,
        "°C d",
        "TrenchR reference, degree_days example",
    )
    for high, low, amount in ((90, 65, 25.5), (72, 46, 11), (63, 42, 6.5), (87, 63, 24.5), (92, 68, 27), (70, 50, 10), (90, 48, 18)):
        yield Check("degree days", f"{high}/{low} °F, 86/50 substitution", amount, _fahrenheit(low, high, 50, 86, "substitution"), 1e-9, "°F d", GROWERS)
    yield Check("degree days", "average 64 °F over 53 °F", 11, _fahrenheit(64, 64, 53, None, "simple"), 1e-9, "°F d", "UC IPM, citrus page")
    column = _fahrenheit(40, 54, 50, 86, "substitution")
    yield Check("degree days", "54/40 °F over 50 °F, substitution", 2, column, 1e-9, "°F d", "newspaper column of 2006")
    yield Check("degree days", "63/43 °F over 50 °F, simple", 3, _fahrenheit(43, 63, 50, None, "simple"), 1e-9, "°F d", "newspaper column")
    yield Check(
        "degree days",
        "61 °F high, low under 50 °F",
        5.5,
        _fahrenheit(40, 61, 50, None, "substitution"),
        1e-9,
        "°F d",
        "Ohio State University Extension, BYGL node 1452",
    )
    for low, high in ((40, 54), (43, 63)):
        ours = _fahrenheit(low, high, 50, None, "sine")
        yield reference("degree days", f"{high}/{low} °F over 50 °F, sine", _under_sine(low, high, 50, 999), ours, 1e-6, "°F d", AREA)


def _under_sine(low: float, high: float, base: float, upper: float) -> float:
    """Degree days of a day whose temperature is a sine, counted from `base` to `upper`."""

    def counted(time: float) -> float:
        return min(max((low + high) / 2 + (high - low) / 2 * math.sin(2 * math.pi * time) - base, 0), upper - base)

    return float(quad(counted, 0, 1, limit=500)[0])


def _fahrenheit(low: float, high: float, base: float, upper: float | None, method: str) -> float:
    celsius = [(value - 32) / 1.8 for value in (low, high, base)]
    return 1.8 * degree_days.degree_day(celsius[0], celsius[1], celsius[2], None if upper is None else (upper - 32) / 1.8, method)


def pest_checks() -> Iterator[Check]:
    """Egg clocks and intervals."""
    eggs = eggs_of(TRADE)
    yield Check(
        "comb pests",
        "small hive beetle eggs at 21 °C",
        61,
        pests.beetle_hatch_time(21.0, eggs).value / HOUR,
        0.5,
        "h",
        "Journal of Economic Entomology 104(3) 2011, abstract: 61 h at 21 °C",
    )
    yield Check(
        "comb pests",
        "small hive beetle eggs at 35 °C (under 22 h)",
        22,
        pests.beetle_hatch_time(35.0, eggs).value / HOUR,
        0.8,
        "h",
        "same abstract: less than 22 h at 35 °C",
    )
    yield Check(
        "comb pests",
        "wax moth eggs at 27 °C, first",
        5,
        pests.egg_hatch_time(27.0, eggs).value / DAY,
        1e-9,
        "d",
        "University of Illinois, insect rearing notes: 5 to 8 days at 24 to 27 °C",
    )
    yield Check(
        "comb pests",
        "wax moth eggs at 18 °C, latest",
        30,
        pests.egg_hatch_time(18.0, eggs).high / DAY,
        1e-9,
        "d",
        "IBRA, BEEBOOK vol. II, wax moth, sec. 2.1: about 30 days at 18 °C",
    )


def _minutes(moment: datetime | None, offset: int) -> float:
    assert moment is not None
    local = (moment.hour * 60 + moment.minute + moment.second / 60 + offset * 60) % 1440
    return local


def _clock(text: str) -> float:
    return int(text[:2]) * 60 + int(text[2:])


def sun_checks() -> Iterator[Check]:
    """Almanac rows, minutes after local or UTC midnight."""
    atlanta = (33 + 46 / 60, -(84 + 25 / 60))
    for month, day, rise, set_ in ((1, 1, "0743", "1740"), (3, 20, "0642", "1849"), (4, 1, "0626", "1858"), (9, 22, "0625", "1835"), (12, 21, "0738", "1733")):
        for event, printed in (("sunrise", rise), ("sunset", set_)):
            moment = sun_event(*atlanta, date(2007, month, day), event, "Etc/GMT+5")
            yield Check("daylight", f"Atlanta 2007-{month:02}-{day:02} {event}", _clock(printed), _minutes(moment, -5), 1.0, "min", USNO_2007)
    for event, printed in (("dawn", "0650"), ("sunrise", "0715"), ("sunset", "1956"), ("dusk", "2021")):
        moment = sun_event(*atlanta, date(2009, 9, 6), event, "America/New_York")
        yield Check(
            "daylight", f"Atlanta 2009-09-06 {event}", _clock(printed), _minutes(moment, -4), 1.0, "min", "U.S. Naval Observatory, Atlanta, 6 September 2009"
        )
    for event, printed in (("sunrise", "1113"), ("sunset", "2350")):
        moment = sun_event(40.8939, -83.8917, date(2018, 9, 12), event, "America/New_York")
        yield Check(
            "daylight", f"Bluffton OH 2018-09-12 {event}", _clock(printed), _minutes(moment, 0), 1.0, "min", "U.S. Naval Observatory, 12 September 2018"
        )
    for place, latitude, longitude, zone, rows in ALMANAC:
        for day, event, computed in rows:
            moment = sun_event(latitude, longitude, date.fromisoformat(day), event, zone)
            expected = datetime.fromisoformat(computed).replace(tzinfo=UTC)
            yield reference("daylight", f"{place} {day} {event}", 0.0, (moment - expected).total_seconds() if moment else math.inf, 10.0, "s off", SKYFIELD)


ALMANAC = (
    ("Minneapolis", 44.98, -93.27, "America/Chicago", (
        ("2025-03-20", "sunrise", "2025-03-20T12:15:31"), ("2025-06-21", "sunset", "2025-06-22T02:03:27"), ("2025-06-21", "dusk", "2025-06-22T02:40:52"),
        ("2025-09-15", "dusk", "2025-09-16T00:52:37"), ("2025-12-21", "sunset", "2025-12-21T22:34:26"))),
    ("London", 51.5, -0.1, "Europe/London", (
        ("2025-06-21", "sunset", "2025-06-21T20:21:26"), ("2025-06-21", "dusk", "2025-06-21T21:09:11"), ("2025-09-15", "dusk", "2025-09-15T18:48:00"))),
    ("Sydney", -33.87, 151.21, "Australia/Sydney", (
        ("2025-09-15", "sunrise", "2025-09-14T19:54:46"), ("2025-09-15", "dusk", "2025-09-15T08:11:30"), ("2025-12-21", "sunset", "2025-12-21T09:05:31"))),
    ("Helsinki", 60.17, 24.94, "Europe/Helsinki", (
        ("2025-06-21", "sunset", "2025-06-21T19:50:05"), ("2025-06-21", "dusk", "2025-06-21T21:42:21"), ("2025-12-21", "dusk", "2025-12-21T14:11:13"))),
    ("Tromsø", 69.65, 18.96, "Europe/Oslo", (("2025-12-21", "dusk", "2025-12-21T12:53:13"),)),
)  # fmt: skip


def packing_checks() -> Iterator[Check]:
    """Mass, pieces and label weights."""
    for ounces in (8, 12, 16):
        text = packing.net_weight(ounces * 0.45359237 / 16, "metric")
        grams = math.floor(ounces * 453.59237 / 16)
        yield reference("packing", f"{ounces} oz on a label", grams, float(text.split(" g")[0]), 0, "g", "453.59237 g to the pound (NIST), down to whole grams")


def thaw_checks() -> Iterator[Check]:
    """Thawing past the dew point and its margin."""
    found = thaw.thaw_time(PIECE, comb.BARE, -18.0, 21.0, 0.5, MARGIN, surface=8.0)
    ways = f"{SERIES}; dew point by PsychroLib 2.5"
    yield reference("thawing", "piece, -18 °C to the dew point of 21 °C, 50 % and 2 °C", 1.897, found.value / HOUR, 0.005, "h", ways)


def every_check() -> list[Check]:
    """All of them, in the order of the table."""
    topics = (conduction_checks, freeze_checks, thaw_checks, honey_checks, weather_checks, pest_checks, sun_checks, packing_checks)
    return [check for topic in topics for check in topic()]
