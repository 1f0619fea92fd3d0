"""How long a task holds, what it occupies, and why: the estimate, the floor, the room in each freezer."""

from __future__ import annotations

from datetime import datetime

import pytest

from scheduler.estimates.freezer_air import of_logs, with_readings
from scheduler.facts.yard import Yard, read_yard
from scheduler.outputs.wording.sentence import METRIC, how_of, in_words
from scheduler.planning.draft import NOTHING, Happened, Subject
from scheduler.planning.holds import held
from scheduler.planning.plan import PlannedTask
from tests.planning.cards import ZONE, planned, reasons, starts, tasks, warnings
from tests.planning.whole import harvest, yard, yard_text
from tests.planning.whole import planned as planned_by_the_bundled_rules

HOUR, MINUTE = 3600, 60


def local(moment: int) -> str:
    """Day and time in August at the yard."""
    return datetime.fromtimestamp(moment, ZONE).strftime("%d %H:%M")


def freezing(card: str, place: Yard | None = None) -> PlannedTask:
    """The freezing of the cut comb."""
    return tasks(planned(f"freeze: {{title: Freeze, for: cut comb, hands: {{before: 10 min, hours: any}}, why: x, {card}}}", place=place))["w/a/freeze"]


def lasts(task: PlannedTask) -> int:
    """How long it holds [s]."""
    assert task.hold_done is not None
    return task.hold_done - task.start - 10 * MINUTE


def test_the_longer_of_estimate_and_floor_is_held_and_said() -> None:
    """The floor of the set is 12 h."""
    short, long = (freezing(f"hold: {{estimate: {estimate}, at least: $floor}}") for estimate in ("10 h", "13 h"))
    assert (lasts(short), lasts(long)) == (12 * HOUR, 13 * HOUR)
    assert reasons(short)["bound by floor"] == "holds 12 h, set by the floor"
    assert reasons(short)["parameter floor"] == reasons(long)["parameter floor"] == "floor 12 h, assumed"
    assert reasons(long)["bound by estimate"] == "holds 13 h, set by the estimate"
    assert "bound by estimate" not in reasons(short)


def test_a_floor_or_an_estimate_alone_is_held() -> None:
    """What a card does not say does not bind."""
    assert lasts(freezing("hold: {at least: 6 h}")) == lasts(freezing("hold: 6 h")) == 6 * HOUR
    assert freezing("loss: crop").hold_done is None


@pytest.mark.parametrize(("written", "minutes"), [("60 min", 60), ("61 min", 65), ("64.9 min", 65), ("65 min", 65), ("1 min", 5)])
def test_a_hold_is_told_to_five_minutes_rounded_up(written: str, minutes: int) -> None:
    """No kill is cut short by rounding."""
    assert lasts(freezing(f"hold: {written}")) == minutes * MINUTE


def two_freezers(small: float = 90) -> Yard:
    """A chest at -18 °C and a colder one in the garage, which is smaller."""
    garage = f"  garage: {{kind: freezer, temperature: -24 °C, space: {small} L}}\n"
    return read_yard(yard_text().replace("  drain rack:", f"{garage}  drain rack:", 1).encode(), "yard.yaml")


def test_of_two_freezers_each_has_a_hold_of_its_own_and_the_plan_says_which() -> None:
    """Ten hours at -24 °C and twenty at -18 °C: the garage is taken, unless the load does not fit there."""
    card = "occupies: {freezer: 40 L}, hold: \"freezer.temperature < -20.0 ? q('10 h') : q('20 h')\""
    cold, warm = freezing(card, two_freezers()), freezing(card, two_freezers(small=39))
    assert (lasts(cold), how_of(cold), cold.occupies) == (10 * HOUR, "In the garage", (("garage", 0.04),))
    assert (lasts(warm), how_of(warm), warm.occupies) == (20 * HOUR, "In the freezer", (("freezer", 0.04),))
    assert how_of(freezing(card)) == ""


def test_a_load_that_just_fits_is_taken_and_a_larger_one_is_refused() -> None:
    """90 L in 90 L; what is refused says what it needs and what there is. A load of nothing takes no room."""
    assert freezing("occupies: {freezer: 90 L}, hold: 1 h").occupies == (("freezer", 0.09),)
    assert freezing("occupies: {freezer: 0 L}, hold: 1 h").occupies == ()
    found = planned("freeze: {title: Freeze, for: cut comb, occupies: {freezer: 90.1 L}, hold: 1 h, why: x}")
    assert warnings(found)["cannot be done"] == "Freeze: one load needs 90.1 L of the freezer, which holds 90 L"
    rack = planned("drain: {title: Drain, for: cut comb, occupies: {drain rack: 301}, hold: 1 h, why: x}")
    assert warnings(rack)["cannot be done"] == "Drain: one load needs 301 pieces of the drain rack, which holds 300 pieces"


def test_a_load_that_the_freezer_does_not_hold_is_refused_by_the_litre() -> None:
    """One packed piece of comb is more than a compartment of 0.2 L takes; the yard file says litres, and so does the plan."""
    place = yard(space=0.2)
    lot: dict[str, object] = {"kind": "cut comb", "frames": 1, "moisture": 17.0, "imperfect": 0}
    found = planned_by_the_bundled_rules(place, [harvest(place, "w", "2026-08-11T10:30", [lot])], "2026-08-11T11:00")
    told = [in_words(warning.says, METRIC) for warning in found.plan.warnings if warning.kind == "cannot be done"]
    assert told
    assert all("L of the freezer, which holds 0.2 L" in text for text in told)


def test_a_hold_without_end_is_refused() -> None:
    """In a freezer at -5 °C the kill never comes about, and the estimate says why."""
    found = planned("freeze: {title: Freeze, for: cut comb, occupies: {freezer: 40 L}, hold: '1.0 / 0.0', why: x}")
    assert warnings(found)["cannot be done"] == "Freeze: the hold never ends with these values"
    card = "batches: {of: lot.pieces, fits: freezer}, occupies: {freezer: batch.volume}, hold: 'freeze_hold(batch, lot, freezer)'"
    found = planned(f"freeze: {{title: Freeze, for: cut comb, why: x, {card}}}", place=yard(cold=-5))
    assert "-5 °C" in warnings(found)["cannot be done"]


SUBJECT = Subject("2026", "w", "a")


def air(happened: Happened) -> Happened:
    """What happened, with a reading of -18 °C at hour 10 in the freezer."""
    return happened._replace(air={"freezer": with_readings(of_logs(()), [(10 * HOUR, -18.0)])})


def test_a_hold_is_looked_at_from_its_beginning_to_its_end_or_until_now() -> None:
    """Begun at hour 9; done at hour 40, or asked about at hour 30. Without any record, or before it begins, there is nothing to look at."""
    begun = air(Happened(begun={"w/a/freeze": 9 * HOUR}))
    done = air(Happened(done={"w/a/freeze": (9 * HOUR, 40 * HOUR)}))
    running, over = held("w/a/freeze", SUBJECT, begun, 30 * HOUR), held("w/a/freeze", SUBJECT, done, 50 * HOUR)
    assert running is not None
    assert over is not None
    assert (running.begun, running.until) == (9 * HOUR, 30 * HOUR)
    assert (over.begun, over.until) == (9 * HOUR, 40 * HOUR)
    assert held("w/a/freeze", SUBJECT, NOTHING, 30 * HOUR) is None
    assert held("w/a/freeze", SUBJECT, begun, 9 * HOUR) is None
    assert held("w/a/other", SUBJECT, begun, 30 * HOUR) is None


def test_of_the_core_only_what_was_read_during_the_hold_counts() -> None:
    """Readings before it began and after it was taken out are of something else; those at both ends count."""
    read = [(hour * HOUR, -float(hour)) for hour in (8, 9, 20, 30, 31)]
    found = held("w/a/freeze", SUBJECT, air(Happened(begun={"w/a/freeze": 9 * HOUR}, core={"w/a": read})), 30 * HOUR)
    assert found is not None
    proof = found.proof("freezer")
    assert proof is not None
    assert proof.core == ((0.0, -9.0), (11.0 * HOUR, -20.0), (21.0 * HOUR, -30.0))
    assert found.proof("garage") is None


CLUB = '  extractor: {available: {"2026-08-12": "18:00-20:30", "2026-08-14": "18:00-21:00"}}\n'
SPIN = "spin: {title: Spin, for: extracted, hands: 2 h, uses: extractor, why: x}\n"


def test_a_clubs_extractor_is_waited_for_and_the_task_says_so() -> None:
    """Two hours on the Wednesday it is there; a second lot only fits the Friday after; with one of one's own both go at once."""
    place = read_yard(yard_text().replace("  drain rack:", f"{CLUB}  drain rack:", 1).encode(), "yard.yaml")
    lots = "".join(f"  - {{id: {name}, kind: extracted, frames: 12, frame: medium, moisture: 18 %}}\n" for name in "ab")
    found = planned(SPIN, lots, place=place)
    assert sorted(starts(found).values()) == ["12 18:00", "14 18:00"]
    assert reasons(tasks(found)["w/a/spin"])["resource extractor"] == "extractor there and free from Wed 12 Aug 18:00"
    assert sorted(starts(planned(SPIN, lots)).values()) == ["11 17:30", "11 19:30"]
    own = reasons(tasks(planned(SPIN, lots))["w/a/spin"]).keys()
    assert not own & {"no extractor", "resource extractor"}, "what every spinner has need not be written down"


def test_long_spinning_is_divided_between_two_days_of_a_clubs_extractor() -> None:
    """Four hours, and it is there for two and a half on Wednesday and for three on Friday: never planned into hours in which it is not."""
    place = read_yard(yard_text().replace("  drain rack:", f"{CLUB}  drain rack:", 1).encode(), "yard.yaml")
    spin = tasks(planned(SPIN.replace("2 h", "4 h"), place=place))["w/b/spin"]
    assert [(local(a), local(b)) for a, b in spin.hands] == [("12 18:00", "12 20:30"), ("14 18:00", "14 19:30")]
    assert tasks(planned(SPIN.replace("2 h", "6 h"), place=place))["w/b/spin"].status == "impossible", "it is there for five and a half in all"


def test_of_two_extractors_the_one_that_is_there_is_taken() -> None:
    """The club's from Wednesday on, a neighbour's on Tuesday evening; what is held in something, as in a borrowed freezer, ends before it goes."""
    both = CLUB + '  press: {kind: extractor, available: {"2026-08-11": "18:30-21:30"}}\n'
    place = read_yard(yard_text().replace("  drain rack:", f"{both}  drain rack:", 1).encode(), "yard.yaml")
    found = tasks(planned(SPIN, place=place))["w/b/spin"]
    assert (local(found.start), dict(found.occupies).keys()) == ("11 18:30", {"press"})
    lent = '  chest: {kind: freezer, temperature: -18 °C, space: 90 L, available: {"2026-08-14 to 2026-08-20": "00:00-24:00"}}\n'
    text = yard_text()
    text = text.replace(text[text.index("  freezer:") : text.index("  drain rack:")], lent)
    frozen = tasks(planned("freeze: {title: Freeze, for: cut comb, hold: 48 h, occupies: {freezer: 5 L}, why: x}", place=read_yard(text.encode(), "yard.yaml")))
    assert local(frozen["w/a/freeze"].start) == "14 17:30"


def test_two_people_do_not_spin_in_one_extractor_at_once() -> None:
    """Ash spins lot b while the keeper could; the extractor is one."""
    ash = 'people:\n  Ash: {hands: {every day: "17:30-21:30"}, takes: [press]}\n'
    place = read_yard((yard_text().replace("  drain rack:", "  extractor: {frames: 4}\n  drain rack:", 1) + ash).encode(), "yard.yaml")
    found = starts(planned(SPIN + SPIN.replace("spin", "press"), place=place))
    assert sorted(found.values()) == ["11 17:30", "11 19:30"]
