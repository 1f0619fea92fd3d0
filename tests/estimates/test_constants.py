"""Numbers of the trade stand in rule files; a number in an estimate says here why it is none."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

from scheduler import estimates, planning

MATTER = "a property of matter, of its surface or of the air round it"
LAW = "a law, a constant of nature, a unit or a number of the method"
FIT = "the coefficients of a published fit, and where it holds"
TABLE_OF_LAW = "a table of a directive"
FILE = "how a measured file is read"
SERIES = "how a mark is found in a series of measurements"
REASONS = {
    "callable_estimates": {FILE: "COLDEST", LAW: "TOLD_FOR", MATTER: "COMB_CONDUCTIVITY"},
    "comb": {MATTER: "DENSITY HEAT_CAPACITY CONDUCTIVITY QUICK_CONDUCTIVITY QUICK_HEAT_CAPACITY SURFACE VALID", LAW: "BARE"},
    "conduction": {LAW: "CLOSEST _EARLY"},
    "degree_days": {SERIES: "LONGEST_GAP LONGEST_FILL SPREAD CLOSE"},
    "fitted_surface": {LAW: "LEAST MOST FEWEST _GOLDEN", FILE: "THERMOMETER WITHIN _DISTURBED _FEWEST_ROWS"},
    "flow": {FIT: "VALID_TEMPERATURE VALID_MOISTURE SCATTER", LAW: "GRAVITY"},
    "freeze": {MATTER: "TEST_LOAD_HEAT", LAW: "TOGETHER"},
    "freezer_air": {FILE: "STEP SILENT SHORTEST_SILENCE USUAL_INTERVALS DENSE _PARTS LONGEST"},
    "honey": {MATTER: "WATER_DENSITY GRAVITY_20"},
    "moisture": {FIT: "OFFSET SLOPE PER_DEGREE VALID_INDEX _BRIX", FILE: "READING", MATTER: "SAFE_STORE UNCAPPED_RATE CAPPED_RATE WARMEST DRIEST_AIR"},
    "packing": {LAW: "INCH", TABLE_OF_LAW: "TOLERABLE"},
    "pests": {FIT: "HATCHING_PUBLISHED", LAW: "TOLD_AT"},
    "recorded_freeze": {LAW: "SETTLED LONGEST"},
    "season_marks": {LAW: "_OF_A_MEDIAN", SERIES: "SAME_FLOW SAME_SEASON AFTER_FLOW LATER_FLOW KNOWN_TO SUMMER WINTER MILD_SPELL FROST"},
    "tables": {FILE: "_BEFORE_DAWN _MOST_DAYS _OFTEN"},
    "temperature_log": {FILE: "_A_GAP"},
    "thaw": {MATTER: "LIQUID_HEAT VESSEL_SURFACE VESSEL_DENSITY GRANULATED_HEAT"},
    "usual_weather": {SERIES: "YEARS MOST_OF_A_MONTH WHOLE_YEAR", MATTER: "_ROUND_THE_EARTH DOUBT DAY_OR_NIGHT HIGHER_UP"},
}
ROOM = Path(estimates.__file__).parent


def numbers(path: Path) -> Iterator[str]:
    """The names that a module gives numbers at its head."""
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        if not isinstance(node, ast.Assign | ast.AnnAssign) or node.value is None:
            continue
        if any(isinstance(below, ast.Constant) and type(below.value) in (int, float) for below in ast.walk(node.value)):
            targets = node.targets if isinstance(node, ast.Assign) else [node.target]
            yield from (name.id for target in targets for name in ast.walk(target) if isinstance(name, ast.Name))


@pytest.mark.parametrize("module", sorted(path.stem for path in ROOM.glob("*.py")))
def test_a_number_in_an_estimate_is_none_of_the_trade(module: str) -> None:
    """What a beekeeper would correct is a parameter of a rule file, with its basis; whatever else is new gets its reason above."""
    allowed = {name for names in REASONS.get(module, {}).values() for name in names.split()}
    assert set(numbers(ROOM / f"{module}.py")) == allowed


def test_what_a_card_may_read_is_reckoned_without_numbers_of_code() -> None:
    """Frames in a box, honey in a frame, a bucket: the modules that make names of facts have no such number of their own."""
    room = Path(planning.__file__).parent
    assert {name: list(numbers(room / f"{name}.py")) for name in ("context", "subjects", "treatments")} == {"context": [], "subjects": [], "treatments": []}
