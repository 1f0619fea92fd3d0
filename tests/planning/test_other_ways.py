"""Why another card stands in for one, the one cause that applies; what is wanted beside a card that is late; what a card asks to mind."""

from __future__ import annotations

import pytest

from scheduler.planning.draft import Happened
from tests.planning.cards import at, planned, reasons, starts, tasks, warnings

OTHERWISE = "otherwise: {title: Otherwise, for: cut comb, instead of: give, why: x}\n"
CUT = "cut: {title: Cut, for: cut comb, hands: 8 h, why: x}\n"


def give(keys: str) -> str:
    """A card that has to be done by Thursday noon, and what stands in for it."""
    return f"give: {{title: Give, for: cut comb, hands: 30 min, deadline: pulled + 50 h, why: x, {keys}}}\n{OTHERWISE}"


@pytest.mark.parametrize(
    ("keys", "cause"),
    [
        ('window: [{clock: "12:00-13:00"}]', "Give: no evening before Thu 13 Aug"),
        ("window: [{season: {outside: robbing}}]", "Give: no hour in its window before Thu 13 Aug"),
        (
            "window: [{season: {outside: robbing}, clock: '18:00-21:00'}, {season: {inside: robbing}, clock: '22:00-23:00'}]",
            'Give: in the season "robbing" only in its window, and no free hour lies in it before Thu 13 Aug',
        ),
    ],
)
def test_the_one_cause_is_named(keys: str, cause: str) -> None:
    """No free hour, no hour at all, or an hour that the season narrows."""
    found = tasks(planned(give(keys)))
    assert set(found) == {"w/a/otherwise"}
    assert reasons(found["w/a/otherwise"])["instead"] == cause


def test_hands_that_are_busy_with_what_goes_before_leave_no_evening() -> None:
    """Eight hours of cutting take two evenings of four, and the third is past the date."""
    found = tasks(planned(CUT + give("after: {cut: {}}")))
    assert reasons(found["w/a/otherwise"])["instead"] == "Give: no evening before Thu 13 Aug"


def test_what_was_to_be_done_before_the_plan_begins_says_so() -> None:
    """Told a week later."""
    found = tasks(planned(give("place: apiary"), as_of="20 10:30"))
    assert reasons(found["w/a/otherwise"])["instead"] == "Give: it was to be done by Thu 13 Aug"


def test_what_is_done_in_time_has_no_other_way() -> None:
    """And no reason of one."""
    assert set(starts(planned(give("place: apiary")))) == {"w/a/give"}


BESIDE = """
cut: {title: Cut, for: cut comb, hands: 8 h, why: x}
limit: {title: Cut by, for: cut comb, hands: {before: 0 min, hours: any}, after: {cut: {}}, due: pulled + 30 h, why: x}
keep: {title: Keep whole, for: cut comb, where late: limit, hands: 15 min, why: x}
"""


def test_what_is_wanted_where_a_card_is_late_stands_beside_it_with_the_reason() -> None:
    """Both stay in the plan, the late one with its warning."""
    found = planned(BESIDE)
    assert set(tasks(found)) == {"w/a/cut", "w/a/limit", "w/a/keep"}
    assert reasons(tasks(found)["w/a/keep"])["where late"] == "Cut by: by Wed 12 Aug 16:30, and planned for Wed 12 Aug 21:30"
    assert "due date missed" in warnings(found)


@pytest.mark.parametrize("change", [("8 h", "3 h"), ("30 h", "90 h")])
def test_what_is_not_late_has_nothing_beside_it(change: tuple[str, str]) -> None:
    """Less to cut, or more time for it."""
    assert set(tasks(planned(BESIDE.replace(*change)))) == {"w/a/cut", "w/a/limit"}


def test_nor_where_the_limit_passed_as_long_ago_as_it_was_given() -> None:
    """Thirty hours were given; more than sixty after the pull it is too late to keep anything whole."""
    assert "w/a/keep" in tasks(planned(BESIDE, as_of="13 22:00"))
    assert "w/a/keep" not in tasks(planned(BESIDE, as_of="13 23:00"))


def test_what_a_card_asks_to_mind_is_said_once_and_breaches_nothing() -> None:
    """Of two lots in the same cold room, one word; of a card that is done, none."""
    cards = (
        'look: {title: Look, for: [cut comb, extracted], why: x, mind: [{if: room.temperature < 25.0, say: "The room is at {temperature: room.temperature}"}]}'
    )
    found = planned(cards)
    assert [warning.kind for warning in found.warnings].count("to mind") == 1
    assert warnings(found)["to mind"] == "The room is at 21 °C"
    assert "to mind" not in warnings(planned(cards.replace("< 25.0", "< 20.0")))
    done = Happened(done={f"w/{lot}/look": (at("11 10:30"), at("11 10:40")) for lot in "ab"})
    assert "to mind" not in warnings(planned(cards, as_of="11 12:00", happened=done))
