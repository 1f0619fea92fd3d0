"""Steps alongside a bigger one: a line of its checklist with its minutes, and nothing else of its own."""

import pytest

from scheduler.diagnostics import Refused
from scheduler.planning.draft import Happened
from scheduler.planning.plan import checklists
from tests.planning.cards import at, planned, rules, starts, tasks

PACK = """\
drain: {title: Drain, for: cut comb, hands: 10 min, hold: 2 h, occupies: {drain rack: lot.pieces}, why: it drips}
pack: {title: Pack, for: cut comb, after: {drain: {}}, hands: 30 min, why: it is sold in packages}
weigh: {title: Weigh and mark, for: cut comb, alongside: pack, hands: 12 min, why: a wet package cannot be marked}
freeze: {title: Freeze, for: cut comb, after: {weigh: {}}, hands: 5 min, hold: 24 h, why: moth}
"""
LOT = "  - {id: a, kind: cut comb, frames: 2, frame: shallow, comb thickness: 32 mm, pieces: 20, moisture: 17 %}\n"


def test_its_minutes_count_in_the_step_and_it_has_no_time_of_its_own() -> None:
    """A pack of 30 minutes with 12 minutes of weighing takes 42; the weighing has no hands, no limit and no alert."""
    found = tasks(planned(PACK, LOT))
    pack, weigh = found["w/a/pack"], found["w/a/weigh"]
    assert [end - start for start, end in pack.hands] == [42 * 60]
    assert (weigh.alongside, weigh.hands, weigh.due, weigh.alerts, weigh.status) == ("w/a/pack", (), None, (), "planned")
    assert (weigh.start, weigh.finish) == pack.hands[0]


def test_what_waits_for_a_line_waits_for_its_step() -> None:
    """The freezer follows the packing, with whose weighing it was said to begin."""
    found = tasks(planned(PACK, LOT))
    assert [link.task for link in found["w/a/freeze"].links] == ["w/a/pack"]
    assert found["w/a/freeze"].start >= found["w/a/pack"].finish


def test_a_line_told_as_done_takes_no_more_minutes() -> None:
    """Packages that were weighed beforehand need not be weighed again."""
    done = Happened(done={"w/a/weigh": (at("11 17:30"), at("11 17:42"))})
    found = tasks(planned(PACK, LOT, as_of="2026-08-11T18:00", happened=done))
    assert [end - start for start, end in found["w/a/pack"].hands] == [30 * 60]
    assert (found["w/a/weigh"].status, checklists(planned(PACK, LOT))["w/a/pack"][0].id) == ("done", "w/a/weigh")


def test_a_line_nobody_told_of_lapses_with_its_step() -> None:
    """The packing is told as done and the weighing is not: nothing is invented, and nothing is asked for ever."""
    done = Happened(done={"w/a/drain": (at("11 17:30"), at("11 19:40")), "w/a/pack": (at("11 19:40"), at("11 20:20"))})
    found = planned(PACK, LOT, as_of="2026-08-11T20:30", happened=done)
    assert tasks(found)["w/a/weigh"].status == "lapsed"
    assert tasks(found)["w/a/freeze"].status == "planned"
    assert not checklists(found)


def test_a_line_of_a_step_that_comes_again_is_a_line_each_time() -> None:
    """Hefting is a line of each monthly round."""
    cards = """\
    round: {title: Round, for: yard, hands: 10 min, repeat: {every: 7 d, times: 3}, why: stores go down}
    heft: {title: Heft, for: yard, alongside: round, hands: 5 min, why: stores go down}
    """
    found = tasks(planned(cards, LOT))
    lines = {name: task.alongside for name, task in found.items() if task.alongside}
    assert lines == {f"yard-2026/heft{n}": f"yard-2026/round{n}" for n in ("", ".2", ".3")}
    assert all(found[step].hands[0][1] - found[step].hands[0][0] == 15 * 60 for step in lines.values())


def test_without_its_step_there_is_no_line() -> None:
    """Where nothing is packed nothing is weighed."""
    without = PACK.replace("title: Pack, for: cut comb,", "title: Pack, for: cut comb, when: 'false',")
    assert "w/a/weigh" not in starts(planned(without, LOT))


def test_a_line_has_no_limit_window_or_hold_of_its_own() -> None:
    """A line with a due date would be late by itself: the file is refused, with what to write."""
    cards = "pack: {title: Pack, for: cut comb, why: x}\nweigh: {title: Weigh, for: cut comb, alongside: pack, due: pulled + 48 h, why: x}\n"
    with pytest.raises(Refused, match='a line of the checklist of "pack" has no "due" of its own'):
        rules(cards)
