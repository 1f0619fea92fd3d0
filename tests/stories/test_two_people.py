"""Two people work in one yard: Ash packs and labels at Wattle Gully, in hours of their own. The yard is invented."""

from __future__ import annotations

import re
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from icalendar import Calendar

from scheduler.application.plan_files import problem_of
from scheduler.application.publish import publish_plan, select
from scheduler.application.tell import set_yard
from scheduler.diagnostics import Fault, Refused
from scheduler.facts.fact import TaskDone
from scheduler.ledger.store import Ledger
from scheduler.outputs.calendar.check import check
from scheduler.outputs.calendar.publication import steps_of
from scheduler.outputs.notify.config import config_for_yard, read_config
from scheduler.outputs.text.comparison import comparison
from scheduler.outputs.wording.sentence import METRIC, in_words, reader_of
from scheduler.planning.plan import Plan
from scheduler.planning.planner import plan
from tests.keeper import EXAMPLES, Keeper

YARD = (EXAMPLES / "wattle_gully" / "yard.yaml").read_text(encoding="utf-8")
PULL = "2026-02-21T09:30"


@pytest.fixture
def keeper(tmp_path: Path) -> Keeper:
    """The keeper of Wattle Gully on the morning of the pull."""
    return Keeper(tmp_path / "ledger.sqlite", "wattle_gully", "Australia/Hobart", PULL).logs("gully-1")


@pytest.fixture
def packing(keeper: Keeper) -> Keeper:
    """The same where nobody but Ash packs."""
    with Ledger.open(keeper.ledger) as ledger:
        set_yard(ledger, packs_alone(YARD).encode(), "yard.yaml", keeper.now)
    return keeper


def packs_alone(yard: str) -> str:
    """A yard in which nobody but Ash packs."""
    return yard.replace("takes: [pack,", "only: [pack], takes: [pack,")


def planned(tmp_path: Path, people: str) -> Plan:
    """The plan of the pull where these people work."""
    lines = [f"people: {people}" if line == "people:" else line for line in YARD.splitlines() if not line.startswith("  Ash:")]
    (tmp_path / "yard.yaml").write_text("\n".join(lines), encoding="utf-8")
    return plan(problem_of([EXAMPLES / "wattle_gully" / "gully-1.yaml"], tmp_path / "yard.yaml", [], PULL))


def done_by(found: Plan, person: str | None) -> set[str]:
    """The cards of which a person has tasks."""
    return {task.rule for task in found.tasks if task.person == person}


def test_work_goes_to_whoever_takes_its_card_its_stream_or_its_place_the_closest_first(tmp_path: Path) -> None:
    """One takes the hives, another the extracted honey, a third its bottling; all else is the keeper's."""
    hours = '{hands: {every day: "08:00-22:00"}'
    found = planned(tmp_path, f'{{Ash: {hours}, takes: apiary}}, Bo: {hours}, takes: extracted}}, Cy: {hours}, takes: "extracted honey/bottle"}}}}')
    assert {"colony/mite count", "colony/feed"} <= done_by(found, "Ash")
    assert "extracted honey/spin" in done_by(found, "Bo")
    assert "wet frames/give back" in done_by(found, "Bo")  # a stream is closer than a place
    assert done_by(found, "Cy") == {"extracted honey/bottle"}
    assert "cut comb/cut" in done_by(found, None)
    reasons = next(task.reasons for task in found.tasks if task.rule == "extracted honey/bottle")
    assert 'done by Cy, who takes "extracted honey/bottle" in the yard file' in [in_words(reason.says, METRIC) for reason in reasons]


def test_each_works_in_their_own_hours_and_beside_the_other(keeper: Keeper) -> None:
    """What Ash does lies in Ash's hours, and with two pairs of hands the packing is done no later than with one."""
    own = [span for task in keeper.plan.tasks if task.person == "Ash" for span in task.hands]
    assert own
    for start, end in own:
        begins, ends = (datetime.fromtimestamp(moment, keeper.zone) for moment in (start, end))
        low, high = (9, 13) if begins.weekday() >= 5 else (18, 20)
        assert begins.weekday() in (2, 5, 6)
        assert low * 60 <= begins.hour * 60 + begins.minute
        assert ends.hour * 60 + ends.minute <= high * 60


def test_the_same_hours_and_another_pair_of_hands_make_nothing_later(tmp_path: Path) -> None:
    """Where somebody as free as the keeper takes the extracted honey, the work of the first ten days is over sooner."""
    alone = planned(tmp_path, "{}")
    two = planned(tmp_path, '{Ash: {hands: {mon-thu: "18:00-21:30", fri: none, sat-sun: "09:00-19:00"}, takes: extracted}}')
    soon = {task.id for task in alone.tasks if task.start < alone.as_of + 10 * 86400 and task.hands}
    ends = [sum(task.finish for task in found.tasks if task.id in soon) for found in (alone, two)]
    assert ends[1] < ends[0]


def test_the_agenda_is_asked_by_person_and_place(packing: Keeper) -> None:
    """Ash sees Ash's work; at the apiary only what is done there; what moved is told to each part when it is looked at. Ash comes every evening."""
    keeper = packing
    with Ledger.open(keeper.ledger) as ledger:
        set_yard(ledger, packs_alone(YARD).replace("wed:", "mon-fri:").encode(), "yard.yaml", keeper.now)
    everyone, own, out = keeper.types("agenda", "--all"), keeper.types("agenda", "--for", "Ash", "--all"), keeper.types("agenda", "--at", "apiary")
    assert "Ash: Sort and pack" in everyone
    assert "Sort and pack" in " ".join(own.split())
    assert "Cut" not in own
    assert "Return wet frames of lot b" in " ".join(out.split())
    assert "Ash" not in out
    assert own.startswith("Wattle Gully, for Ash, Sat 21 Feb 09:30")
    assert "Nothing is planned for Ash, store" in keeper.types("agenda", "--for", "Ash", "--at", "store")
    keeper.types("done", "a/cut.1", "--at", "2026-02-21 09:30")
    keeper.waits_until("2026-03-08T09:30").types("agenda")
    assert "OVERDUE" in keeper.types("agenda", "--for", "Ash")


def test_a_feed_is_narrowed_to_a_person_and_stays_sound(keeper: Keeper) -> None:
    """Ash's feed and the keeper's share no entry and are together the whole; neither names an entry that it leaves out."""
    with Ledger.open(keeper.ledger) as ledger:
        sent = publish_plan(ledger, keeper.now)
    whole, own, keepers = (sent.calendar(select(people=people)) for people in ((), ["Ash"], ["keeper"]))
    entries = [{str(part["UID"]) for part in Calendar.from_ical(content).walk("VEVENT")} for content in (whole, own, keepers)]
    assert entries[1] | entries[2] == entries[0]
    assert not entries[1] & entries[2]
    steps = {key.rpartition(" ")[0] for uid in entries[1] for key in steps_of(sent.published[uid].content)}
    assert {name.rpartition("/")[2].partition(".")[0] for name in steps} <= {"pack", "label", "label-jars", "label-chunk-jars"}
    assert [check(content, "feed.ics") for content in (whole, own, keepers)] == [[], [], []]
    [summary, *_] = [str(part["SUMMARY"]) for part in Calendar.from_ical(own).walk("VEVENT")]
    assert summary.endswith("(Ash)")
    with pytest.raises(Fault, match='"Ahs" does not work in this yard') as refused:
        sent.calendar(select(people=["Ahs"]))
    assert '"Ash"' in refused.value.write


def test_the_work_of_one_who_left_is_the_keepers(keeper: Keeper) -> None:
    """The yard file is set again without Ash: the entries are revised to be the keeper's, and Ash's own feed stands with nothing left to do in it."""
    with Ledger.open(keeper.ledger) as ledger:
        before = publish_plan(ledger, keeper.now)
        alone = keeper.ledger.parent / "yard.yaml"
        alone.write_text("\n".join(line for line in YARD.splitlines() if not line.startswith(("people:", "  Ash:"))), encoding="utf-8")
        keeper.types("init", "--from", str(alone))
        after = publish_plan(ledger, keeper.now + 60)
    own = [uid for uid, state in before.published.items() if b"(Ash)" in state.content]
    assert own
    assert not any(b"(Ash)" in after.published[uid].content for uid in own if uid in after.published and after.published[uid].gone_since is None)
    left = after.calendar(select(people=["Ash"]))
    assert check(left, "feed.ics") == []
    assert {str(part["STATUS"]) for part in Calendar.from_ical(left).walk("VEVENT")} <= {"CANCELLED"}
    with pytest.raises(Fault, match="does not work in this yard"):
        after.calendar(select(people=["Ashley"]))


def test_a_comparison_says_whose_work_it_would_be(tmp_path: Path) -> None:
    """Whether somebody is to help with the packing is a question to ask before it is so; the date may stay."""
    alone, two = planned(tmp_path, "{}"), planned(tmp_path, '{Ash: {hands: {mon-thu: "18:00-21:30", fri: none, sat-sun: "09:00-19:00"}, takes: pack}}')
    packing = next(task.id for task in two.tasks if task.person == "Ash")
    assert f"{packing}: by Ash" in comparison(alone, two)
    assert f"{packing}: by keeper" in comparison(two, alone)


@pytest.mark.parametrize(
    ("people", "words"),
    [
        ('{Ash: {hands: {sat: "09:00-13:00"}, takes: [pak]}}', 'takes: there is no card, rule set, stream or place "pak"'),
        ('{apiary: {hands: {sat: "09:00-13:00"}, takes: [pack]}}', '"apiary" is a rule set, a stream or a place'),
        ('{Ash: {hands: {sat: "09:00-13:00"}, takes: [pack]}, Bo: {hands: {sat: "09:00-13:00"}, takes: [pack]}}', '"pack" is taken by Ash already'),
    ],
)
def test_work_that_nobody_knows_is_refused_where_it_stands(tmp_path: Path, people: str, words: str) -> None:
    """With its line and what to write."""
    with pytest.raises(Refused, match=re.escape(words)) as refused:
        planned(tmp_path, people)
    [fault] = refused.value.diagnostics
    assert (fault.line, bool(fault.write)) == (8, True)


def test_an_unknown_person_or_place_is_refused_with_the_nearest(keeper: Keeper) -> None:
    """On the command line as in a feed."""
    assert 'write "Ash"' in keeper.types("agenda", "--for", "Ahs", refused=True)
    assert 'write "apiary"' in keeper.types("agenda", "--at", "apairy", refused=True)
    assert 'there is no place "apairy"' in keeper.types("calendar", "--at", "apairy", refused=True)


def test_a_cure_names_whose_day_would_have_to_be_free(tmp_path: Path) -> None:
    """Where the packing waits for somebody who comes too late, a day of theirs is offered."""
    found = planned(tmp_path, '{Ash: {hands: {"2026-03-20": "09:00-13:00"}, takes: [pack, freeze], only: [pack, freeze]}}')
    late = [in_words(warning.says, reader_of(found)) for warning in found.warnings if warning.task and "/a/freeze" in warning.task]
    assert any("by Ash" in text for text in late), found.warnings


def test_the_keeper_steps_in_where_somebody_would_never_come_in_time(tmp_path: Path) -> None:
    """Ash may pack and freeze, and is free on one day a month later: neither is late, and neither is without a time."""
    found = planned(tmp_path, '{Ash: {hands: {"2026-03-20": "09:00-13:00"}, takes: [pack, freeze]}}')
    assert [warning for warning in found.warnings if warning.task and "/a/" in warning.task] == []
    assert "cut comb/freeze" not in done_by(found, "Ash")


def test_who_hears_only_of_their_own_work_and_has_none_hears_of_all() -> None:
    """An alert is never lost to a name that the yard file does not know, and the watch says so."""
    config = read_config(b"people: {keeper: {}, Ash: {hears: own}, Bo: {hears: own}}", "channels.yaml")
    heard, words = config_for_yard(config, ["Ash"])
    assert {name: person.hears for name, person in heard.people.items()} == {"keeper": "all", "Ash": "own", "Bo": "all"}
    assert words.startswith("Bo: ")
    assert config_for_yard(config, ["Ash", "Bo"]) == (config, "")


def test_an_alert_goes_to_whoever_hears_of_that_work(tmp_path: Path) -> None:
    """Ash, who takes the cut comb and hears own, is told of that and not of the extracting; the keeper is told of both."""
    from scheduler.application.alert_ids import read_alert_key
    from scheduler.application.alert_offers import OfferedAlerts, offers

    config: Any = read_config(b"people: {keeper: {}, Ash: {hears: own}}", "channels.yaml")
    found = planned(tmp_path, '{Ash: {hands: {every day: "08:00-22:00"}, takes: cut comb}}')
    due = offers(found, config, (), OfferedAlerts(), frozenset(), {}, found.as_of)
    heard = {person: {read_alert_key(one.id)[0] for one in due if read_alert_key(one.id)[2] == person} for person in config.people}
    assert heard["keeper"] == {task.id for task in found.tasks if task.alerts}
    own = {task.id for task in found.tasks if task.person == "Ash"}
    awaited = {link.task for task in found.tasks if task.id in own for link in task.links}
    assert heard["Ash"] == {task.id for task in found.tasks if task.alerts and task.id in own | awaited}
    assert set() < heard["Ash"] < heard["keeper"]


def test_who_packs_hears_that_the_pieces_are_drained(packing: Keeper) -> None:
    """The alert is on the drain, which is the keeper's; the packing that it calls for is Ash's."""
    from scheduler.application.alert_ids import read_alert_key
    from scheduler.application.alert_offers import OfferedAlerts, offers

    config: Any = read_config(b"people: {keeper: {}, Ash: {hears: own}}", "channels.yaml")
    due = offers(packing.plan, config, (), OfferedAlerts(), frozenset(), {}, packing.now)
    assert ("gully-1/a/drain.1", "Ash") in {(read_alert_key(one.id)[0], read_alert_key(one.id)[2]) for one in due}
    assert not any(read_alert_key(one.id)[0].endswith("spin") for one in due if read_alert_key(one.id)[2] == "Ash")


def test_who_did_it_is_written_down(keeper: Keeper) -> None:
    """Said with --by, for somebody of the yard; another name is refused and nothing is written."""
    before = len(keeper.view.facts)
    assert "does not work in this yard" in keeper.types("done", "close-up", "--by", "Bo", refused=True)
    assert len(keeper.view.facts) == before
    keeper.types("done", "close-up", "--by", "Ash")
    assert [(one.fact.task, one.fact.by) for one in keeper.view.facts if isinstance(one.fact, TaskDone)] == [("gully-1/close-up", "Ash")]


@pytest.fixture
def counting(keeper: Keeper) -> Keeper:
    """The same where Ash counts the mites, and is free for less than that takes."""
    with Ledger.open(keeper.ledger) as ledger:
        ash = '  Ash: {hands: {sun: "16:00-16:12"}, takes: [mite count]}'
        set_yard(ledger, "\n".join(ash if line.startswith("  Ash:") else line for line in YARD.splitlines()).encode(), "yard.yaml", keeper.now)
    return keeper


def test_the_keeper_joins_where_two_are_done_in_time_and_one_is_not(counting: Keeper) -> None:
    """Two hives take Ash eighteen minutes and both of them nine: they meet on Sunday at four, which the plan says, and still does the next day."""
    keeper = counting
    [count] = [task for task in keeper.plan.tasks if task.rule == "colony/mite count"]
    [(start, end)] = count.hands
    assert (count.people, f"{datetime.fromtimestamp(start, keeper.zone):%a %H:%M}", end - start) == (("Ash", None), "Sun 16:00", 9 * 60)
    assert "Done with Ash, who would come too late alone: two take 50 % of the time" in " ".join(keeper.types("why", "mite-count").split())
    assert "with Ash: Count mites in every hive" in keeper.types("agenda", "--all")
    keeper.waits_until("2026-02-22T08:00").types("agenda")
    assert [task.hands for task in keeper.plan.tasks if task.id == count.id] == [count.hands]


def test_what_two_do_together_stands_in_the_calendars_of_both(counting: Keeper) -> None:
    """One entry, of its own; nothing else of either lies in it."""
    keeper = counting
    with Ledger.open(keeper.ledger) as ledger:
        sent = publish_plan(ledger, keeper.now)
    own, keepers = ({str(part["UID"]): part for part in Calendar.from_ical(sent.calendar(select(people=[one]))).walk("VEVENT")} for one in ("Ash", "keeper"))
    [uid] = own
    assert str(own[uid]["SUMMARY"]).endswith("(with Ash)")
    start, end = own[uid]["DTSTART"].dt, own[uid]["DTEND"].dt
    timed = [part for name, part in keepers.items() if name != uid and isinstance(part["DTSTART"].dt, datetime) and str(part.get("TRANSP")) != "TRANSPARENT"]
    assert uid in keepers
    assert timed
    assert not [str(part["SUMMARY"]) for part in timed if part["DTSTART"].dt < end and start < part["DTEND"].dt]
    todos = Calendar.from_ical(sent.calendar(select(todos=True, people=["keeper"]))).walk("VTODO")
    assert [str(part["SUMMARY"]) for part in todos if "Count mites" in str(part["SUMMARY"])] == ["Count mites in every hive (with Ash)"]


def test_nobody_joins_in_what_only_one_may_do_nor_where_a_card_says_nothing(tmp_path: Path) -> None:
    """Ash alone counts, and is late; the bottling of one who is free too short has no word about two, so the keeper does it alone."""
    found = planned(tmp_path, '{Ash: {hands: {sun: "16:00-16:12"}, takes: [mite count], only: [mite count]}}')
    assert not any(task.together for task in found.tasks)
    found = planned(tmp_path, '{Ash: {hands: {"2026-03-20": "16:00-16:12"}, takes: [freeze]}}')
    assert {(task.person, task.together) for task in found.tasks if task.rule == "cut comb/freeze"} == {(None, False)}
