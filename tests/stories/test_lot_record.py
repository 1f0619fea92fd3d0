"""The record of a lot: one step back to the hives, one step forward to whoever wanted it, and what became of it in between."""

from __future__ import annotations

import pytest

from tests.keeper import Keeper


@pytest.fixture
def sold(new_place: str) -> Keeper:
    """Kestrel Bank five days after the pull: lot a is cut, packed, frozen and wanted for a market."""
    keeper = Keeper(new_place, "kestrel_bank", "Europe/Ljubljana", "2026-08-11T11:00").logs("ridge-2")
    keeper.waits_until("2026-08-11T21:30").types("done", "a/cut", "--at", "20:10")
    keeper.types("observe", "moisture", "17.6 %", "--of", "ridge-2/a")
    keeper.waits_until("2026-08-12T19:30").types("done", "a/pack", "--at", "19:10", "--yes")
    keeper.types("done", "a/freeze", "--at", "19:20")
    keeper.waits_until("2026-08-13T19:00").types("observe", "freezer temperature", "-19 °C")
    keeper.waits_until("2026-08-14T19:00").types("observe", "freezer temperature", "-17.5 °C")
    keeper.waits_until("2026-08-16T10:30").types("done", "a/freeze", "--whole", "--at", "Fri 20:00")
    keeper.types("observe", "treatment", "begins", "--of", "all", "--with", "formic acid", "--product", "Demo strips", "--batch", "K-071")
    keeper.types("want", "12", "packages", "of", "a", "by", "sat 5 sep 08:00", "--for", "the cheese stall")
    return keeper


def sheet(keeper: Keeper, lot: str) -> str:
    """The sheet on one line."""
    return " ".join(keeper.types("record", lot).split())


def test_it_shows_hives_work_freezer_readings_medicine_and_who_wanted_it(sold: Keeper) -> None:
    """Every moment with its date and year; what was told a day and a half late says when it was written down."""
    said = sheet(sold, "a")
    assert "Record of lot ridge-2/a" in said
    assert "Hives: north, ridge" in said
    assert "Came off: 2026-08-11 10:30" in said
    assert "2026-08-11 20:10 Cut 20 pieces from lot a: done" in said
    assert "2026-08-14 20:00 Freeze 16 packages of lot a: done (written down 2026-08-16 10:30)" in said
    assert "2026-08-12 19:20 ridge-2/a/freeze.1: in, out 2026-08-14 20:00 after 48 h 40 min; read -19 °C to -17.5 °C" in said
    assert "moisture: 17.6 %" in said
    assert "2026-08-16 10:30 every hive: treatment begun, Demo strips (formic acid), batch K-071" in said
    assert "12 packages for the cheese stall" in said
    assert "Local codes" in said


def test_supers_again_from_is_reckoned_from_the_end_of_what_was_begun(sold: Keeper) -> None:
    """Amitraz in north, out after six weeks: two weeks of wait by the table (common practice), counted from the day it came out, and of north alone."""
    sold.types("undo")
    sold.types("undo")
    sold.types("observe", "treatment", "begins", "--of", "north", "--with", "amitraz", "--batch", "B 12")
    sold.waits_until("2026-09-28T18:00").types("observe", "treatment", "ends", "--of", "north")
    said = sheet(sold, "a")
    assert "2026-08-16 10:30 north: treatment begun, amitraz, batch B 12" in said
    assert "2026-09-28 18:00 north: treatment ended; supers again from 2026-10-12 18:00, unless the label says otherwise" in said


def test_what_was_taken_back_is_not_in_it_and_another_lot_has_its_own(sold: Keeper) -> None:
    """A correction is in the ledger; the sheet shows what stands. Of lot b nothing was done yet but what was of the whole harvest."""
    sold.types("undo", "a/cut")
    assert "Cut 20 pieces" not in sheet(sold, "a")
    other = sheet(sold, "b")
    assert "extracted: 14 medium frames" in other
    assert "In the freezer" not in other
    assert "Wanted" not in other


def test_a_stop_and_what_let_it_go_on_are_in_it(sold: Keeper) -> None:
    """A live larva; then, frozen again and looked through, none any more."""
    sold.types("observe", "larvae", "--of", "ridge-2/a")
    assert "STOPPED" in sheet(sold, "a")
    assert "live larva seen" in sheet(sold, "a")
    sold.types("observe", "larvae", "no", "--of", "ridge-2/a")
    assert "STOPPED" not in sheet(sold, "a")
    assert "looked through: no larva any more" in sheet(sold, "a")


def test_an_unknown_lot_says_which_there_are(sold: Keeper) -> None:
    """By their paths."""
    assert "ridge-2/a, ridge-2/b" in sold.types("record", "x", refused=True)


def test_in_us_units(new_place: str) -> None:
    """A yard on the other side of the ocean, and of the equator's clock."""
    keeper = Keeper(new_place, "pelican_bend", "America/Chicago", "2026-06-21T11:00").logs("levee-1")
    keeper.types("observe", "comb temperature", "70 °F", "--of", "levee-1/comb")
    assert "comb temperature: 70 °F" in sheet(keeper, "levee-1/comb")
