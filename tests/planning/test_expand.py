"""Which tasks follow from cards: for which lots, in which batches, after what, and which way is taken where another cannot be."""

from __future__ import annotations

from itertools import pairwise

import pytest

from scheduler.planning.draft import Happened
from scheduler.planning.plan import Link
from tests.planning.cards import at, planned, starts, tasks, warnings
from tests.planning.whole import yard

DAY = 86_400


def test_a_card_makes_a_task_for_each_lot_of_its_stream_for_each_harvest_or_one_for_the_yard() -> None:
    """By what it is for: two streams, the harvest with both lots, and the season of the yard."""
    found = planned(
        """
        cut: {title: Cut, for: cut comb, why: x}
        weigh: {title: Weigh, for: [cut comb, extracted], why: x}
        moisture: {title: Read, for: harvest, why: x}
        order: {title: Order, for: yard, why: x}
        dry: {title: Dry, for: dry comb, why: x}
        """,
        pulls="2026-08-11T10:30 2026-08-12T10:30",
    )
    assert set(starts(found)) == {f"{w}/{task}" for w in "wx" for task in ("a/cut", "a/weigh", "b/weigh", "moisture")} | {"yard-2026/order"}
    assert (tasks(found)["w/a/weigh"].stream, tasks(found)["w/moisture"].stream, tasks(found)["yard-2026/order"].stream) == ("cut comb", "harvest", "yard")


def test_a_card_with_a_condition_is_there_where_it_holds() -> None:
    """Honey with 18 % of water is read again, that with 17 % is not."""
    assert set(starts(planned("again: {title: Read again, for: [cut comb, extracted], when: lot.moisture > 0.175, why: x}"))) == {"w/b/again"}


def test_a_card_with_another_is_there_where_that_is() -> None:
    """Labels go with packing, and packing is for cut comb."""
    cards = """
    label: {title: Label, for: [cut comb, extracted], with: pack, why: x}
    pack: {title: Pack, for: cut comb, why: x}
    """
    assert set(starts(planned(cards))) == {"w/a/label", "w/a/pack"}


def test_what_follows_waits_for_the_whole_of_it_and_the_lag() -> None:
    """After an hour of spinning a day of settling; a card that is not there is not waited for."""
    found = planned("""
    spin: {title: Spin, for: extracted, hands: 1 h, why: x}
    never: {title: Never, for: extracted, when: lot.moisture > 0.5, why: x}
    bottle: {title: Bottle, for: extracted, after: {spin: {at least: 24 h, within: 48 h}, never: {}}, why: x}
    """)
    assert starts(found) == {"w/b/spin": "11 17:30", "w/b/bottle": "12 18:30"}
    assert tasks(found)["w/b/bottle"].links == (Link("w/b/spin", "finish to start", DAY, 2 * DAY),)


def test_a_card_of_the_harvest_waits_for_every_lot_and_one_across_the_season_for_every_harvest() -> None:
    """The room is cleaned when both lots are weighed; the stand is put away after the last pull of the season."""
    cards = """
    weigh: {title: Weigh, for: [cut comb, extracted], why: x}
    clean: {title: Clean, for: harvest, after: {weigh: {}}, why: x}
    own: {title: Own, for: extracted, after: {weigh: {}}, why: x}
    both: {title: Both, for: extracted, after: {weigh: {across: harvest}}, why: x}
    all: {title: All, for: extracted, after: {weigh: {across: season}}, why: x}
    order: {title: Order, for: yard, after: {clean: {}}, why: x}
    """
    found = tasks(planned(cards, pulls="2026-08-11T10:30 2026-08-12T10:30"))

    def waits_for(name: str) -> set[str]:
        return {link.task for link in found[name].links}

    assert waits_for("w/clean") == waits_for("w/b/both") == {"w/a/weigh", "w/b/weigh"}
    assert waits_for("w/b/own") == {"w/b/weigh"}
    assert waits_for("x/b/all") == {"w/a/weigh", "w/b/weigh", "x/a/weigh", "x/b/weigh"}
    assert waits_for("yard-2026/order") == {"w/clean", "x/clean"}


BATCHES = """
freeze: {title: Freeze, for: cut comb, batches: {of: lot.pieces, fits: freezer}, occupies: {freezer: "batch.count * q('0.6 L')"}, hold: 24 h, why: x}
thaw: {title: Thaw, for: cut comb, batches: {as: freeze}, after: {freeze: {}}, why: x}
sell: {title: Sell, for: cut comb, after: {thaw: {}}, why: x}
"""


def test_a_load_larger_than_the_freezer_goes_in_batches_as_even_as_they_come() -> None:
    """Twenty packed pieces of 0.6 L in a freezer of 4 L: six fit, so four batches of five, one after the other; each is thawed by itself."""
    found = tasks(planned(BATCHES, place=yard(space=4)))
    assert {name: task.count for name, task in found.items() if "freeze" in name} == {f"w/a/freeze.{number}": 5.0 for number in (1, 2, 3, 4)}
    assert [link.task for link in found["w/a/thaw.3"].links] == ["w/a/freeze.3"]
    assert {link.task for link in found["w/a/sell"].links} == {f"w/a/thaw.{number}" for number in (1, 2, 3, 4)}
    begun = sorted(found[f"w/a/freeze.{number}"].start for number in (1, 2, 3, 4))
    assert [later - sooner >= DAY for sooner, later in pairwise(begun)] == [True, True, True]


def test_what_does_not_divide_evenly_has_the_larger_batches_first() -> None:
    """Twenty pieces where nine fit are 7, 7 and 6; where all fit there is one batch."""
    found = tasks(planned(BATCHES, place=yard(space=5.5)))
    assert [found[f"w/a/freeze.{number}"].count for number in (1, 2, 3)] == [7, 7, 6]
    assert [name for name in tasks(planned(BATCHES, place=yard(space=12))) if "freeze" in name] == ["w/a/freeze.1"]
    assert "w/a/freeze.2" in tasks(planned(BATCHES, place=yard(space=11.9)))


def test_where_a_way_is_not_possible_the_one_that_stands_in_is_taken() -> None:
    """No packed piece fits a compartment of 0.2 L, which is said; with "instead of" the comb is crushed and nothing is said."""
    freeze = "freeze: {title: Freeze, for: cut comb, occupies: {freezer: lot.package_volume}, hold: 24 h, why: x}\n"
    alone, instead = (
        planned(freeze, place=yard(space=0.2)),
        planned(freeze + "crush: {title: Crush, for: cut comb, instead of: freeze, why: x}", place=yard(space=0.2)),
    )
    assert tasks(alone)["w/a/freeze"].status == "impossible"
    assert "cannot be done" in warnings(alone)
    assert set(starts(instead)) == {"w/a/crush"}
    assert "cannot be done" not in warnings(instead)
    assert set(starts(planned(freeze + "crush: {title: Crush, for: cut comb, instead of: freeze, why: x}"))) == {"w/a/freeze"}


def test_a_card_comes_again_until_its_end_or_so_many_times() -> None:
    """Every week, three times; or until 1 September at the latest. What follows waits for the last."""
    found = planned("""
    look: {title: Look, for: cut comb, hands: 5 min, repeat: {every: 7 d, times: 3}, why: x}
    watch: {title: Watch, for: cut comb, hands: 5 min, repeat: {every: 7 d, until: pulled + 15 d}, why: x}
    sell: {title: Sell, for: cut comb, after: {look: {}}, why: x}
    """)
    assert {name for name in starts(found) if "look" in name} == {"w/a/look", "w/a/look.2", "w/a/look.3"}
    assert {name for name in starts(found) if "watch" in name} == {"w/a/watch", "w/a/watch.2", "w/a/watch.3"}
    assert [link.task for link in tasks(found)["w/a/sell"].links] == ["w/a/look.3"]
    assert starts(found)["w/a/look.3"] == "25 17:35"


def test_a_look_that_could_only_come_after_its_end_falls_away() -> None:
    """Every ten days until 25 days after the pull: the second repetition would be the third look, on the thirtieth day."""
    found = planned("look: {title: Look, for: cut comb, repeat: {every: 10 d, until: pulled + 25 d}, why: x}")
    assert set(starts(found)) == {"w/a/look", "w/a/look.2", "w/a/look.3"}
    late = planned(
        "look: {title: Look, for: cut comb, repeat: {every: 10 d, until: pulled + 25 d}, why: x}", happened=Happened(put_off={"w/a/look": at("20 08:00")})
    )
    assert set(starts(late)) == {"w/a/look", "w/a/look.2"}


@pytest.mark.parametrize("kind", ["freezer", "drain rack", "settling tank"])
def test_equipment_that_no_card_uses_is_told(kind: str) -> None:
    """Most likely a slip of the pen."""
    used = "use: {title: Use, for: cut comb, occupies: {%s: 0.001}, hold: 1 h, why: x}"
    assert "unused equipment" in warnings(planned("cut: {title: Cut, for: cut comb, why: x}"))
    named = {str(one.says.get("equipment")) for one in planned(used % kind).warnings if one.kind == "unused equipment"}
    assert named == {"freezer", "drain rack", "settling tank"} - {kind}
