"""What a rule may ask of a yard, a harvest and a lot, worked out by hand from the files. All invented."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from scheduler.facts.harvest import Harvest, read_harvest
from scheduler.facts.yard import Yard, read_yard
from scheduler.planning.context import boxes, daily_loads, equipment, reservations
from scheduler.planning.draft import Subject
from scheduler.planning.expand import Expansion
from scheduler.planning.planner import Planning
from scheduler.planning.problem import Problem
from scheduler.rules.load import load
from tests.planning.cards import ZONE, at, rules
from tests.planning.whole import yard, yard_text

COMB = "{id: a, kind: cut comb, frames: 2, frame: shallow, comb thickness: 32 mm, piece: 100 x 50 mm}"
LIQUID = "{id: b, kind: extracted, frames: 12, frame: medium, moisture: 18 %, jar: 500 g}"


def pull(lots: list[str], name: str = "w", hives: str = "north, south", place: Yard | None = None) -> Harvest:
    """A harvest of these lots."""
    text = f"harvest: {name}\npulled: 2026-08-11T10:30\nhives: [{hives}]\nlots:\n" + "".join(f"  - {lot}\n" for lot in lots)
    return read_harvest(text.encode(), f"{name}.yaml", place or yard())


def of(subject: Subject, *pulls: Harvest, place: Yard | None = None) -> dict[str, Any]:
    """The names of a subject, as a plan of these harvests gives them to every card."""
    place = place or yard()
    planning = Planning(Problem(place, rules("any: {title: Any, for: yard, why: x}"), pulls, at("11 10:30"), place.season))
    return dict(Expansion(planning.problem, planning.pulls, planning.moments).contexts[subject])


def lot(text: str, place: Yard | None = None) -> dict[str, Any]:
    """The names of one lot."""
    harvest = pull([text], place=place)
    return dict(of(Subject("2026", "w", harvest.lots[0].id), harvest, place=place)["lot"])


def test_pieces_are_counted_by_the_keeper_or_by_the_frame() -> None:
    """Twenty as told; else as many as a frame gives, and twice that from two frames."""
    assert lot(COMB.replace("}", ", pieces: 20}"))["pieces"] == 20
    one, two = lot(COMB.replace("frames: 2", "frames: 1"))["pieces"], lot(COMB)["pieces"]
    assert two == 2 * one > 0
    assert lot(LIQUID)["pieces"] == 0


def test_a_piece_has_the_mass_and_the_room_of_its_sides() -> None:
    """100 by 50 by 32 mm are 160 mL, and 222.4 g of comb at 1390 kg/m³; a clamshell adds 12 mm to each side."""
    found = lot(COMB.replace("}", ", pieces: 20}"))
    assert found["piece_volume"] == pytest.approx(160e-6)
    assert found["piece_mass"] == pytest.approx(0.2224)
    assert found["mass"] == pytest.approx(4.448)
    assert (found["length"], found["width"], found["thickness"]) == pytest.approx((0.1, 0.05, 0.032))
    assert lot(COMB.replace("}", ", package: clamshell}"))["package_volume"] == pytest.approx(0.112 * 0.062 * 0.044)


@pytest.mark.parametrize(("share", "chunk"), [("0 %", 0), ("20 %", 4), ("22 %", 4), ("23 %", 5), ("100 %", 20)])
def test_imperfect_pieces_go_into_jars_and_the_others_are_packed(share: str, chunk: int) -> None:
    """Of twenty pieces a fifth are four; of chunk honey all are."""
    found = lot(COMB.replace("}", f", pieces: 20, imperfect: {share}}}"))
    assert (found["chunk_pieces"], found["packages"]) == (chunk, 20 - chunk)
    assert (found["chunk_jars"] > 0) == (chunk > 0)
    jars = lot(COMB.replace("cut comb", "chunk honey").replace("}", ", pieces: 20}"))
    assert (jars["chunk_pieces"], jars["packages"]) == (20, 0)


def test_extracted_honey_is_weighed_by_the_frame_and_bottled_by_the_jar() -> None:
    """Twelve medium frames of 4 lb are 21.77 kg, which fill 43 jars of 500 g and part of one."""
    found = lot(LIQUID)
    assert found["mass"] == pytest.approx(12 * 4 * 0.45359237, rel=1e-4)
    assert found["jars"] == 44
    assert lot(COMB)["jars"] == 0


@pytest.mark.parametrize(("frames", "boxes"), [("frames: 10", 1), ("frames: 11", 2), ("frames: 12, boxes: 3", 3)])
def test_ten_frames_are_a_box_unless_the_keeper_says_otherwise(frames: str, boxes: int) -> None:
    """Common practice for a full-width box."""
    assert lot(LIQUID.replace("frames: 12", frames))["boxes"] == boxes


def test_what_was_not_read_is_unknown_or_taken_from_the_room() -> None:
    """Moisture has no usual value; comb is as warm as its room (21 °C) until somebody reads it."""
    assert lot(COMB)["moisture"] is None
    assert lot(LIQUID)["moisture"] == pytest.approx(0.18)
    assert lot(COMB)["comb_temperature"] == 21
    assert lot(COMB.replace("}", ", comb temperature: 30 °C}"))["comb_temperature"] == 30
    assert (lot(COMB)["disease"], lot(COMB)["ailment"]) == (False, "none")


def test_a_harvest_sums_its_lots_and_a_season_its_harvests() -> None:
    """Hives of two harvests are counted once each; a season has no harvest's name."""
    first, second = pull([COMB, LIQUID], "w", "north, south"), pull([LIQUID.replace("id: b", "id: a")], "x", "south, west, east")
    one, both = of(Subject("2026", "w"), first)["harvest"], of(Subject("2026"), first, second)["harvest"]
    assert {name: one[name] for name in ("id", "hives", "frames", "boxes", "lots")} == {"id": "w", "hives": 2, "frames": 14, "boxes": 3, "lots": 2}
    assert {name: both[name] for name in ("id", "hives", "frames", "boxes", "lots")} == {"id": "", "hives": 4, "frames": 26, "boxes": 5, "lots": 3}
    assert (one["has_cut_comb"], one["has_extracted"], one["has_dry_comb"], one["has_chunk"]) == (True, True, False, False)
    assert of(Subject("2026", "w"), pull([COMB.replace("}", ", imperfect: 10 %}")]))["harvest"]["has_chunk"]


def test_the_first_freezer_is_the_one_that_is_asked_about() -> None:
    """Its temperature, room and rated capacity; nothing of it is known where the yard has none."""
    subject = Subject("2026", "w", "a")
    found = of(subject, pull([COMB]))["freezer"]
    assert (found["temperature"], found["space"], found["air"]) == (-18, pytest.approx(0.09), "still")
    assert found["rated"] * 86_400 == pytest.approx(9)
    none = without("  freezer: {temperature: -18 °C, space: 90 L, freezing capacity: 9 kg/day, air: still}\n")
    assert of(subject, pull([COMB], place=none), place=none)["freezer"]["temperature"] is None


def without(line: str) -> Yard:
    """The usual yard less a line of its file."""
    assert line in yard_text()
    return read_yard(yard_text().replace(line, "").encode(), "yard.yaml")


def test_a_season_knows_what_the_yard_file_says() -> None:
    """A mark that is not written is not known, its neighbours are."""
    known = of(Subject("2026"), pull([COMB]), place=without("  first frost: 14 October\n"))["season"]
    assert (known["first_frost"], known["last_frost"], known["robbing"]) == (False, True, True)


def test_equipment_is_found_by_its_kind_and_the_rated_load_by_its_name() -> None:
    """Two freezers are two of one kind; the garage has no rated capacity."""
    garage = "  garage: {kind: freezer, temperature: -24 °C, space: 50 L}\n"
    place = read_yard(yard_text().replace("  drain rack:", f"{garage}  drain rack:", 1).encode(), "yard.yaml")
    found = equipment(place)
    assert [(one.name, one.capacity, one.measure) for one in found["freezer"]] == [
        ("freezer", pytest.approx(0.09), "space"),
        ("garage", pytest.approx(0.05), "space"),
    ]
    assert [(one.name, one.capacity, one.measure) for one in found["drain rack"]] == [("drain rack", 300, "pieces")]
    assert daily_loads(place) == {"freezer": pytest.approx(9.0)}


def test_what_is_set_aside_is_set_aside_to_the_end_of_its_last_day() -> None:
    """Half the freezer for the garden's beans, from 20 to 22 August."""
    text = yard_text() + "reserved:\n  - {equipment: freezer, from: 2026-08-20, to: 2026-08-22, space: 45 L}\n"
    place = read_yard(text.encode(), "yard.yaml")
    assert place.reserved[0].to == date(2026, 8, 22)
    assert reservations(place, ZONE) == (("freezer", at("20 00:00"), at("23 00:00"), pytest.approx(0.045)),)


def test_boxes_of_eight_frames_are_counted_as_such() -> None:
    """Ten frames fill one box where ten go into it, two where the yard says eight, and as many as the harvest file says."""
    file = b"harvest: w\npulled: 2026-08-11T10:30\nhives: [north]\nlots:\n  - {id: a, kind: extracted, frames: 10, frame: medium}\n"
    lot = read_harvest(file, "w.yaml", yard()).lots[0]
    eight = load(changes={"frames and boxes": {"parameters": {"frames in a box": 8}}})
    assert [boxes(lot, one.trade) for one in (load(), eight)] == [1, 2]
    assert boxes(lot.model_copy(update={"boxes": 3}), eight.trade) == 3
