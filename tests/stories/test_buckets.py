"""Honey that waits in buckets, and jars bottled from one when they are wanted. Kestrel Bank is invented."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest

from tests.keeper import Keeper

SATURDAY = "sat 5 sep 08:00"
HARVEST = """
harvest: ridge-2
pulled: 2026-08-11T10:30
hives: [north, ridge]
lots:
  - {id: b, kind: extracted, frames: 28, frame: medium, moisture: 17.4 %, comb temperature: 30 °C, buckets: 20 L}
"""
BUCKET = ("fill-buckets", "warm-bucket.1", "bottle-to-order.1", "label-to-order.1", "crate-jars.1")


@pytest.fixture
def keeper(new_place: str, tmp_path: Path) -> Keeper:
    """Half an hour after the pull of 28 frames, whose honey goes into buckets of 20 L."""
    found = Keeper(new_place, "kestrel_bank", "Europe/Ljubljana", "2026-08-11T11:00")
    (tmp_path / "ridge-2.yaml").write_text(HARVEST)
    found.types("log", str(tmp_path / "ridge-2.yaml"))
    return found


def test_honey_in_buckets_is_bottled_when_it_is_wanted(keeper: Keeper) -> None:
    """Warmed gently over days, stirred, bottled, labelled and in crates in time; before that nothing of it is planned."""
    assert keeper.has("b/fill-buckets")
    assert not any(keeper.has(f"b/{card}") for card in ("bottle", "label-jars", *BUCKET[1:]))
    keeper.types("want", "40", "jars", "of", "b", "by", SATURDAY)
    tasks = [keeper.task(f"b/{card}") for card in BUCKET]
    assert all(first.finish <= second.start for first, second in pairwise(tasks))
    assert tasks[1].start >= keeper.moment("2026-08-29T08:00")
    assert tasks[-1].finish <= keeper.moment("2026-09-05T08:00")
    assert "by conduction alone" in " ".join(keeper.types("why", "b/warm-bucket").split())


def test_no_more_is_bottled_than_the_buckets_hold(keeper: Keeper) -> None:
    """Nor more buckets filled than there are; what cannot be ready by then says what can."""
    keeper.types("want", "40", "jars", "of", "b", "by", SATURDAY)
    assert "62 of 102 are left" in keeper.types("want", "70", "jars", "of", "b", "by", SATURDAY, refused=True)
    assert "cannot be ready by then; by" in keeper.types("want", "10", "jars", "of", "b", "by", "thu 13 aug 18:00", refused=True)
    keeper.waits_until("2026-08-14T20:00")
    assert "2 of 2 are left" in keeper.types("done", "b/fill-buckets", "--amount", "3", refused=True)
    assert "bucket" in keeper.types("done", "b/fill-buckets", "--amount", "1")
    assert keeper.task("b/fill-buckets").left == 1


def test_whoever_filled_buckets_instead_of_jars_did(new_place: str) -> None:
    """The harvest said nothing of buckets: what hands did is the way that was taken."""
    keeper = Keeper(new_place, "kestrel_bank", "Europe/Ljubljana", "2026-08-11T11:00").logs("ridge-2")
    assert keeper.has("b/bottle")
    keeper.waits_until("2026-08-15T20:00").types("done", "b/fill-buckets", "--yes")
    assert not keeper.has("b/bottle")
    assert not keeper.has("b/label-jars")
    keeper.types("want", "20", "jars", "of", "b", "by", SATURDAY)
    assert keeper.has("b/warm-bucket.1")


def test_the_record_says_where_it_is_kept_and_what_left_it(keeper: Keeper) -> None:
    """Buckets filled, and the jars bottled from them, in the order in which it happened."""
    keeper.types("want", "40", "jars", "of", "b", "by", SATURDAY, "--for", "the market")
    keeper.waits_until("2026-08-15T20:00").types("done", "b/fill-buckets", "--yes")
    keeper.waits_until("2026-08-30T09:00").types("done", "b/warm-bucket.1", "--yes")
    keeper.waits_until("2026-09-02T09:00").types("done", "b/warm-bucket.1", "--yes")
    keeper.types("done", "b/bottle-to-order.1", "--yes")
    sheet = keeper.types("record", "b")
    assert "buckets of 20 L" in sheet
    assert sheet.index("fill 2 buckets") < sheet.index("bottle 40 jars")
