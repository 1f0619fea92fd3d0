"""Looks that nobody answered: they go quietly, the next one says when anybody looked, and nothing that matters ever lapses."""

from scheduler.outputs.wording.sentence import in_words, title_of
from scheduler.planning.draft import Happened
from scheduler.planning.plan import Plan
from tests.planning.cards import KEEPER, at, planned, starts, tasks, warnings

ROUND = """\
look: {title: Look in, for: yard, lapses: true, hands: 5 min, repeat: {every: 7 d, times: 6}, why: wasps}
"""
ONCE = """\
give back: {title: Give back, for: extracted, hands: 10 min, why: bees lick the frames dry}
look: {title: Look in, for: extracted, lapses: true, after: {give back: {at least: 48 h}}, hands: 5 min, why: dry frames stick}
take off: {title: Take off, for: extracted, after: {look: {}}, hands: 15 min, due: pulled + 240 h, why: treatment waits}
"""


def _open(found: Plan) -> list[str]:
    return [task.id for task in found.tasks if task.is_open]


def test_a_look_lapses_when_its_next_one_begins() -> None:
    """Weekly from 11 August; on the 27th those of the 11th and the 18th are gone, the one of the 25th is still to be done."""
    found = planned(ROUND, as_of="2026-08-27T12:00")
    assert {name: task.status for name, task in tasks(found).items()} == {
        "yard-2026/look": "lapsed",
        "yard-2026/look.2": "lapsed",
        **{f"yard-2026/look.{n}": "planned" for n in (3, 4, 5, 6)},
    }
    assert starts(found)["yard-2026/look.3"] == "27 17:30"
    assert set(warnings(found)) <= {"unused equipment"}


def test_the_next_look_says_how_long_ago_anybody_looked() -> None:
    """The first was told of; on 10 September the next one says so in its title."""
    first = at("11 17:30")
    found = tasks(planned(ROUND, as_of="2026-09-10T17:35", happened=Happened(done={"yard-2026/look": (first, at("11 17:35"))})))
    assert found["yard-2026/look.4"].status == "lapsed"
    assert title_of(found["yard-2026/look.5"]) == "Look in (last seen 30 d ago)"


def test_a_look_without_another_lapses_a_week_after_it_could_be_done() -> None:
    """The frames were given back on the 11th: from the evening of the 13th one may look, and on the 20th nobody will."""
    gone = Happened(done={"w/b/give-back": (at("11 20:00"), at("11 20:10"))})
    lots = "  - {id: b, kind: extracted, frames: 12, frame: medium, moisture: 18 %}\n"
    before = planned(ONCE, lots, as_of="2026-08-20T20:00", happened=gone)
    after = planned(ONCE, lots, as_of="2026-08-20T20:20", happened=gone)
    assert tasks(before)["w/b/look"].status == "planned"
    assert tasks(after)["w/b/look"].status == "lapsed"
    assert (tasks(after)["w/b/take-off"].status, tasks(after)["w/b/take-off"].links) == ("planned", ())


def test_nothing_lapses_before_what_it_waits_for_is_done() -> None:
    """Where the frames were never given back, there was nothing to look at, and the look is still to come."""
    found = planned(ONCE, as_of="2026-09-20T12:00")
    assert _open(found) == ["w/b/give-back", "w/b/look", "w/b/take-off"]
    assert "due date missed" in warnings(found)


def test_a_look_lapses_only_once_its_window_was_open() -> None:
    """What is looked at outside robbing season, which ends on 15 October, is not missed in September, and is by the end of October."""
    cards = "air: {title: Look, for: yard, lapses: true, hands: 5 min, window: {season: {outside: robbing}}, why: moth}"
    assert [task.status for task in planned(cards, as_of="2026-09-20T12:00").tasks] == ["planned"]
    assert [task.status for task in planned(cards, as_of="2026-10-30T12:00").tasks] == ["lapsed"]


def test_only_what_says_so_lapses() -> None:
    """The same round without `lapses` stays to be done, from the first of it on."""
    found = planned(ROUND.replace("lapses: true, ", ""), as_of="2026-08-27T12:00")
    assert len(_open(found)) == 6


def test_a_plan_made_weeks_later_has_the_same_repetitions_left() -> None:
    """Weekly until the end of September: eight times from 11 August, however late the plan is made."""
    until = ROUND.replace("times: 6", "until: first frost - 14 d")
    early, late = planned(until), planned(until, as_of="2026-09-22T17:30")
    assert [task.id for task in late.tasks] == [task.id for task in early.tasks] != []


def test_supers_that_were_spun_are_not_warmed_any_more() -> None:
    """What only made something ready goes once that has begun; what is crop or is told singly is still asked for, and so is what no time ties to it."""
    chain = """\
warm: {{title: Warm, for: extracted, hands: 10 min, hold: 12 h{more}, why: cold honey stays}}
spin: {{title: Spin, for: extracted, after: {{warm: {lag}}}, hands: 30 min, why: it is warm}}
"""
    for more, lag, status in (
        ("", "within 24 h", "lapsed"),
        ("", "{}", "planned"),
        (", loss: crop", "within 24 h", "planned"),
        (", told singly: true", "within 24 h", "planned"),
    ):
        for over in (Happened(done={"w/b/spin": (at("11 20:00"), at("11 20:30"))}), Happened(begun={"w/b/spin": at("11 20:00")})):
            found = tasks(planned(chain.format(more=more, lag=lag), as_of="2026-08-11T20:40", happened=over))["w/b/warm"]
            assert found.status == status
            assert ("Spin" in " ".join(in_words(one.says, KEEPER) for one in found.reasons if one.says.kind == "overtaken")) == (status == "lapsed")


def test_a_look_after_what_fell_away_lapses_too() -> None:
    """Nobody warmed the supers that were spun on the 11th, so nobody looks at warm ones: a week later that look is gone."""
    chain = """\
warm: {title: Warm, for: extracted, hands: 10 min, why: cold honey stays}
look: {title: Look in, for: extracted, lapses: true, after: {warm: {}}, hands: 5 min, why: it is warm}
spin: {title: Spin, for: extracted, after: {warm: within 24 h}, hands: 30 min, why: it is warm}
"""
    spun = Happened(done={"w/b/spin": (at("11 20:00"), at("11 20:30"))})
    assert {name: one.status for name, one in tasks(planned(chain, as_of="2026-08-20T12:00", happened=spun)).items()} == {
        "w/b/warm": "lapsed",
        "w/b/look": "lapsed",
        "w/b/spin": "done",
    }
