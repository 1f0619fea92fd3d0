"""Lots that meet in one tank are a new lot: it has all that was wrong with its parents, and its record leads back and forward."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.keeper import Keeper

SECOND = """# INVENTED
harvest: ridge-3
pulled: 2026-08-11T10:30
hives: [south]
lots:
  - {{id: m, kind: extracted, frames: 8, frame: medium, moisture: {moisture}}}
"""


def spun(place: str, folder: Path, moisture: str) -> Keeper:
    """Kestrel Bank on the evening of two pulls, both spun and strained; the second lot has that moisture."""
    keeper = Keeper(place, "kestrel_bank", "Europe/Ljubljana", "2026-08-11T11:00").logs("ridge-2")
    (folder / "ridge-3.yaml").write_text(SECOND.format(moisture=moisture), encoding="utf-8")
    keeper.types("log", str(folder / "ridge-3.yaml"))
    keeper.waits_until("2026-08-11T20:00").types("done", "b/spin", "m/spin", "b/strain", "m/strain", "--yes")
    return keeper


@pytest.fixture
def met(new_place: str, tmp_path: Path) -> Keeper:
    """Both went into one tank at five past eight."""
    keeper = spun(new_place, tmp_path, "18.4 %")
    keeper.waits_until("2026-08-11T20:05").types("done", "b/settle", "--with", "m")
    return keeper


MADE = "ridge-2/b-ridge-3-m"


def test_one_lot_settles_and_is_bottled_in_place_of_two(met: Keeper) -> None:
    """Its settling runs; of its parents the wet frames and the wax are left to do."""
    assert met.task("b-ridge-3-m/settle").begun
    assert met.has("b-ridge-3-m/bottle")
    assert not met.has("b/bottle")
    assert not met.has("m/bottle")
    assert met.has("b/give-back")
    assert met.has("m/cappings")


def test_its_moisture_is_reckoned_by_mass_and_asked_again(met: Keeper) -> None:
    """14 frames at 17.9 % and 8 of the same size at 18.4 %: (14 x 17.9 + 8 x 18.4) / 22 = 18.08 %, for the mass of water is kept."""
    [lot] = [lot for harvest in met.view.harvests for lot in harvest.lots if lot.id == "b-ridge-3-m"]
    assert lot.moisture == pytest.approx((14 * 0.179 + 8 * 0.184) / 22)
    assert met.task("b-ridge-3-m/bottle").status == "provisional"
    assert met.has("b-ridge-3-m/moisture-reading")
    met.types("observe", "moisture", "18.0 %", "--of", MADE)
    assert met.task("b-ridge-3-m/bottle").status == "planned"
    assert not met.has("b-ridge-3-m/moisture-reading")


def test_together_over_the_limit_is_said_and_not_bottled(new_place: str, tmp_path: Path) -> None:
    """17.9 % and 21 % come to 19 %, over the limit of 18.6 %: it happened, so it is recorded, and stopped."""
    keeper = spun(new_place, tmp_path, "21 %")
    said = keeper.types("done", "b/settle", "--with", "m")
    assert "Together 19 % of water, reckoned. That is over 18.6 %" in said
    assert keeper.task("b-ridge-3-m/bottle").held_by == "moisture"


def test_foulbrood_in_a_hive_of_one_parent_stops_it(met: Keeper) -> None:
    """And what was worked with the same gear."""
    met.types("observe", "foulbrood", "--of", "south")
    assert met.task("b-ridge-3-m/bottle").held_by == "foulbrood"


def test_a_recall_leads_both_ways(met: Keeper) -> None:
    """From the jar to every hive, and from a hive to every jar."""
    met.types("want", "60", "jars", "of", "b-ridge-3-m", "by", "sat 5 sep 08:00", "--for", "the village shop")
    blended, parent = (" ".join(met.types("record", lot).split()) for lot in (MADE, "m"))
    assert "Made of: ridge-2/b, ridge-3/m" in blended
    assert "Hives: north, ridge, south" in blended
    assert "Uncap, spin 8 frames, lot m: done" in blended
    assert f"Went into: {MADE}" in parent
    assert "60 jars for the village shop" in parent
    assert "60 jars for the village shop" in blended


def test_a_recall_from_either_parent_names_the_jars_that_were_filled(met: Keeper) -> None:
    """Whatever was sold of them: how many were bottled of the new lot stands on the sheet of each lot that went into it, and of no other."""
    met.waits_until("2026-08-14T20:00").types("done", "b-ridge-3-m/bottle", "--at", "19:00", "--yes")
    filled = [step for step in " ".join(met.types("record", MADE).split()).split("2026-") if "Skim lot" in step and "jars: done" in step]
    assert len(filled) == 1
    for parent in ("ridge-2/b", "m"):
        assert filled[0].strip() in " ".join(met.types("record", parent).split())
    assert "Skim lot" not in met.types("record", "ridge-2/a")


def test_what_was_promised_of_a_lot_is_kept_of_the_one_it_went_into(new_place: str, tmp_path: Path) -> None:
    """Jars wanted of each of two lots, before they met in one tank."""
    keeper = spun(new_place, tmp_path, "18.4 %")
    keeper.types("want", "40", "jars", "of", "b", "by", "sat 5 sep 08:00")
    keeper.types("want", "10", "jars", "of", "m", "by", "sat 12 sep 08:00")
    keeper.types("done", "b/settle", "--with", "m")
    crates = sorted(task.count for task in keeper.plan.tasks if task.id.startswith(f"{MADE}/crate-jars"))
    assert crates == [10, 40]
    assert "40 jars of ridge-2/b" in keeper.types("want")
    keeper.types("want", "--withdraw", "ridge-2/b.1")
    assert [task.count for task in keeper.plan.tasks if task.id.startswith(f"{MADE}/crate-jars")] == [10]


def test_it_can_meet_another_and_no_lot_meets_twice(met: Keeper, tmp_path: Path) -> None:
    """A second tank is filled from the first; what went in already is there, and what is no honey meets nothing."""
    assert f"ridge-2/b went into {MADE} already" in met.types("done", "b/settle", "--with", "m", refused=True)
    assert "no lot is called" in met.types("done", "b-ridge-3-m/settle", "--with", "a", refused=True)
    (tmp_path / "ridge-4.yaml").write_text(SECOND.format(moisture="17 %").replace("ridge-3", "ridge-4").replace("id: m", "id: n"), encoding="utf-8")
    met.waits_until("2026-08-12T20:00").types("log", str(tmp_path / "ridge-4.yaml"))
    assert "are one lot" in met.types("done", "b-ridge-3-m/settle", "--with", "n")
    assert "ridge-2/b, ridge-3/m" in " ".join(met.types("record", f"{MADE}-ridge-4-n").split())


def test_taken_back_they_are_two_again(met: Keeper) -> None:
    """First the settling, then that they met."""
    met.types("undo")
    met.types("undo")
    assert met.view.parents == {}
    assert met.has("m/bottle")


@pytest.fixture
def said(new_place: str, tmp_path: Path) -> Keeper:
    """The harvest file itself says that b and c go into one tank; the blend waits for both from the first plan on."""
    keeper = Keeper(new_place, "kestrel_bank", "Europe/Ljubljana", "2026-08-11T11:00")
    lots = (
        "  - {id: b, kind: extracted, frames: 10, frame: medium, moisture: 17.4 %, settles with: c}\n"
        "  - {id: c, kind: extracted, frames: 6, frame: medium, moisture: 18.2 %}\n"
    )
    (tmp_path / "ridge-2.yaml").write_text(f"harvest: ridge-2\npulled: 2026-08-11T10:30\nhives: [north, ridge]\nlots:\n{lots}", encoding="utf-8")
    keeper.types("log", str(tmp_path / "ridge-2.yaml"))
    return keeper


def test_a_harvest_may_say_that_its_lots_meet(said: Keeper) -> None:
    """One settling after both are strained; the record leads to both."""
    settle = said.task("b-c/settle")
    assert settle.start >= max(said.task("b/strain").finish, said.task("c/strain").finish)
    assert not said.has("b/settle")
    assert said.task("b-c/bottle").status == "provisional"
    said.waits_until("2026-08-12T21:00").types("done", "b/spin", "c/spin", "b/strain", "c/strain", "--yes")
    said.types("done", "b-c/settle")
    assert said.task("b-c/settle").begun
    assert "went into ridge-2/b-c already" in said.types("done", "b/settle", "--with", "c", refused=True)
    assert "Made of: ridge-2/b, ridge-2/c" in " ".join(said.types("record", "b-c").split())
    assert "Went into: ridge-2/b-c" in " ".join(said.types("record", "c").split())


def test_what_stops_one_of_them_stops_what_is_made_of_both(said: Keeper) -> None:
    """Foulbrood in a hive, before anything was spun."""
    said.types("observe", "foulbrood", "--of", "north")
    assert {said.task(f"b-c/{card}").held_by for card in ("settle", "bottle")} == {"foulbrood"}


def test_a_little_heather_among_other_honey_has_the_limit_of_other_honey(new_place: str, tmp_path: Path) -> None:
    """Ling heather may hold 23 % of water, what is mixed with other honey not."""
    keeper = spun(new_place, tmp_path, "21 %, heather: yes")
    assert "over 18.6 %" in keeper.types("done", "b/settle", "--with", "m")
    assert keeper.task("b-ridge-3-m/bottle").held_by == "moisture"


def test_jars_that_were_wanted_of_a_parent_stand_on_every_sheet_of_the_blend(said: Keeper) -> None:
    """They are filled from it: whoever calls it back, or either parent, finds who had them."""
    said.types("want", "30", "jars", "of", "b", "by", "sat 5 sep 08:00", "--for", "the village shop")
    assert "30 jars for the village shop" in said.types("record", "b-c")
    for parent in ("b", "c"):
        assert "30 jars for the village shop" in said.types("record", f"ridge-2/{parent}")
