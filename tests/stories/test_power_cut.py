"""A freeze with a power cut, told at the command line: the yard of an example, invented days and readings."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from xml.etree import ElementTree
from zoneinfo import ZoneInfo

import pytest

from scheduler.outputs.wording.sentence import METRIC, Reader, in_words, words_of
from scheduler.planning.plan import PlannedTask
from tests.keeper import Keeper

BEGUN = "2026-08-14T19:41"


@pytest.fixture
def keeper(tmp_path: Path) -> Keeper:
    """Sixteen packages of comb went into the freezer on Friday evening."""
    told = Keeper(tmp_path / "ledger.sqlite", "kestrel_bank", "Europe/Ljubljana", "2026-08-11T11:00").logs("ridge-2")
    told.waits_until(BEGUN).types("done", "a/freeze.1")
    return told


def steady(at: datetime) -> float:
    """A freezer that does what its plate says."""
    return -18.0 - (at.minute % 20) / 500  # its compressor comes and goes


def powerless(at: datetime) -> float:
    """No power from 21:00 of the first evening until 9:00; the freezer warms to 6 °C and is cold again within two hours."""
    hours = (at - datetime.fromisoformat("2026-08-14T21:00")) / timedelta(hours=1)
    if not 0 <= hours < 14:
        return steady(at)
    return min(6.0, -18 + 2.5 * hours) if hours < 12 else 6 - 12 * (hours - 12)


def log(folder: Path, air: Callable[[datetime], float], until: str, *, lost: tuple[str, str] = ("9", "9"), begins: str = "2026-08-14T19:30") -> str:
    """The logger's file, every ten minutes in local time, without the rows that were lost."""
    at, rows = datetime.fromisoformat(begins), ["time,temperature C"]
    while at <= datetime.fromisoformat(until):
        if not lost[0] <= at.isoformat() < lost[1]:
            rows.append(f"{at.isoformat(timespec='minutes')},{air(at):.2f}")
        at += timedelta(minutes=10)
    path = folder / "log.csv"
    path.write_text("\n".join(rows) + "\n")
    return str(path)


def digest(path: Path) -> str:
    """Of a file, as any program for checksums prints it."""
    return hashlib.sha256(path.read_bytes()).hexdigest()


def held(keeper: Keeper) -> timedelta:
    """From when the packages went in until the hold is done."""
    task = keeper.task("a/freeze.1")
    return timedelta(seconds=(task.hold_done or 0) - keeper.moment(BEGUN))


def reasons(task: PlannedTask, label: str) -> list[str]:
    """What a task says under one label."""
    return [in_words(reason.says, Reader("metric", ZoneInfo("Europe/Ljubljana"))) for reason in task.reasons if reason.label == label]


def test_a_log_without_trouble_leaves_the_hold_at_the_floor_and_is_kept_as_evidence(keeper: Keeper, tmp_path: Path) -> None:
    """48 h as planned, and the log is among the reasons with its times."""
    keeper.waits_until("2026-08-16T09:00").types("observe", "series", "freezer", "--file", log(tmp_path, steady, "2026-08-16T08:50"))
    assert held(keeper) == timedelta(hours=48)
    task = keeper.task("a/freeze.1")
    assert reasons(task, "proof") == [
        f"freezer log Fri 14 Aug 19:50 to Sun 16 Aug 08:50: 223 readings, -18 °C to -18 °C; from log.csv (SHA-256 {digest(tmp_path / 'log.csv')[:12]})"
    ]
    assert any("proved: core at or below -6.7 °C" in text for text in reasons(task, "estimate freeze_hold"))
    assert reasons(task, "floor extended") == []


def test_a_power_cut_in_the_first_night_makes_the_hold_longer(keeper: Keeper, tmp_path: Path) -> None:
    """Until the log is read out the plan knows nothing of it; then the warm hours are added, and the alert moves along."""
    keeper.waits_until("2026-08-16T09:00")
    assert held(keeper) == timedelta(hours=48)
    said = keeper.types("observe", "series", "freezer", "--file", log(tmp_path, powerless, "2026-08-16T08:50"))
    assert "225 readings from Fri 14 Aug 19:30 to Sun 16 Aug 08:50, every 10 min; -18 °C to 6 °C" in said
    assert timedelta(hours=55) < held(keeper) < timedelta(hours=58)
    task = keeper.task("a/freeze.1")
    assert [told.at for told in task.alerts] == [task.hold_done]
    assert "The freezer was warm for 8 h" in words_of(task.alerts[0].say)
    assert "warmer than -6.7 °C for" in reasons(task, "floor extended")[0]
    agenda = " ".join(keeper.types("agenda").split())
    assert "the freezer was warm for 8 h" in agenda
    assert "it keeps until Mon 17 Aug 0" in agenda
    keeper.types("undo")
    assert held(keeper) == timedelta(hours=48)


def test_a_log_that_shows_a_freezer_that_never_kills_is_a_warning_before_anything_lies_in_it(tmp_path: Path) -> None:
    """At once, of the yard and of no task; a log that is cold again takes it back."""
    keeper = Keeper(tmp_path / "ledger.sqlite", "kestrel_bank", "Europe/Ljubljana", "2026-08-11T11:00").logs("ridge-2")
    path = log(tmp_path, lambda at: -5.2 - at.minute / 100, "2026-08-12T09:00", begins="2026-08-11T09:00")
    keeper.waits_until("2026-08-12T09:10").types("observe", "series", "freezer", "--file", path)
    assert "its log was never colder than -5.7 °C. Wax moth lives on in it" in " ".join(keeper.types("agenda").split())
    assert [warning.task for warning in keeper.plan.warnings if warning.kind == "freezer never kills"] == [None]
    colder = log(tmp_path, steady, "2026-08-13T01:00", begins="2026-08-12T12:00")
    keeper.waits_until("2026-08-13T01:10").types("observe", "series", "freezer", "--file", colder)
    assert [warning for warning in keeper.plan.warnings if warning.kind == "freezer never kills"] == []


def test_a_thermometer_that_reads_too_cold_in_melting_ice_is_corrected_and_one_too_warm_is_left(keeper: Keeper, tmp_path: Path) -> None:
    """It shows -1.2 °C where 0 °C is: every row of its log counts 1.2 °C warmer, and the proof says so."""
    keeper.waits_until("2026-08-16T09:00").types("observe", "series", "freezer", "--file", log(tmp_path, steady, "2026-08-16T08:50"))
    before = keeper.view.air["freezer"].rows
    keeper.types("observe", "ice", "point", "0.8 °C")
    assert keeper.view.air["freezer"].rows == before
    keeper.types("observe", "ice", "point", "-1.2 °C")
    assert [round(value - read, 9) for (_, value), (_, read) in zip(keeper.view.air["freezer"].rows, before, strict=True)] == [1.2] * len(before)
    [told] = reasons(keeper.task("a/freeze.1"), "proof")
    assert "1.2 °C added, by its reading in melting ice" in told
    keeper.types("undo")
    assert keeper.view.air["freezer"].rows == before


def test_hours_without_a_row_count_as_warm(keeper: Keeper, tmp_path: Path) -> None:
    """The logger hung on the same socket: its silence proves nothing."""
    path = log(tmp_path, steady, "2026-08-16T08:50", lost=("2026-08-14T21:00", "2026-08-15T09:00"))
    said = keeper.waits_until("2026-08-16T09:00").types("observe", "series", "freezer", "--file", path)
    assert "silent from Fri 14 Aug 20:50 to Sat 15 Aug 09:00" in said
    assert held(keeper) > timedelta(hours=60)
    assert "counts as 25 °C (assumed)" in reasons(keeper.task("a/freeze.1"), "proof")[0]


def test_a_single_reading_counts_where_there_is_no_log(keeper: Keeper) -> None:
    """On Saturday morning the thermometer in the freezer shows -4 °C: those hours do not count, and -4 °C never kills."""
    said = keeper.waits_until("2026-08-15T09:00").types("observe", "freezer", "temperature", "-4 °C")
    assert "-4" in said
    assert keeper.task("a/freeze.1").status == "impossible"
    keeper.waits_until("2026-08-15T12:00").types("observe", "freezer", "temperature", "-18 °C")
    assert keeper.task("a/freeze.1").status == "planned"
    assert held(keeper) > timedelta(hours=63)


def taken_out(keeper: Keeper, at: str) -> str:
    """The one warning about the packages, in words, after they were taken out for good."""
    keeper.waits_until(at).types("done", "a/freeze.1", "--whole")
    [warning] = [warning for warning in keeper.plan.warnings if warning.task == "ridge-2/a/freeze.1"]
    return f"{warning.kind}: {in_words(warning.says, METRIC)}"


def test_packages_taken_out_before_the_record_proved_the_kill_are_told_and_stay_done(keeper: Keeper, tmp_path: Path) -> None:
    """No power from the first evening until they were taken out, as the log read out afterwards shows. What is done does not move."""
    keeper.waits_until("2026-08-16T19:50").types("done", "a/freeze.1")
    before = keeper.task("a/freeze.1")
    path = log(tmp_path, lambda at: min(6.0, powerless(at)) if at.day == 14 else 6.0 - at.minute / 100, "2026-08-16T19:50")
    keeper.waits_until("2026-08-16T20:00").types("observe", "series", "freezer", "--file", path)
    after = keeper.task("a/freeze.1")
    assert (after.status, after.start, after.finish) == ("done", before.start, before.finish)
    [warning] = [warning for warning in keeper.plan.warnings if warning.kind == "hold not proved"]
    assert warning.task == after.id
    assert "taken out after 2 d" in in_words(warning.says, METRIC)


@pytest.mark.parametrize(("air", "out"), [(steady, "2026-08-16T01:41"), (powerless, "2026-08-16T19:50")])
def test_a_kill_that_is_proved_is_told_apart_from_a_habit_that_was_not_met(keeper: Keeper, tmp_path: Path, air: Callable[[datetime], float], out: str) -> None:
    """Taken out after 30 h of the 48, or after 48 of which some were warm: the log shows that no egg is left, so nothing is frozen again."""
    keeper.waits_until(out).types("observe", "series", "freezer", "--file", log(tmp_path, air, out))
    told = taken_out(keeper, out)
    assert told.startswith("habit not met: ")
    assert "The kill is proved by the freezer's record" in told


def test_one_thermometer_reading_proves_nothing_of_the_days_before_it(keeper: Keeper) -> None:
    """-18 °C after 30 h: the plan goes on as it was, and the kill is not proved; nor by three readings a day."""
    for clock in ("2026-08-15T08:00", "2026-08-15T16:00", "2026-08-16T01:00"):
        keeper.waits_until(clock).types("observe", "freezer", "temperature", "-18 °C")
    assert held(keeper) == timedelta(hours=48)
    [told] = reasons(keeper.task("a/freeze.1"), "estimate freeze_hold")
    assert "not proved: readings of the air further apart than 2 h" in told
    out = taken_out(keeper, "2026-08-16T01:41")
    assert out.startswith("hold not proved: ")
    assert "taken out after 30 h, and by the freezer's record the kill is not proved" in out


def test_readings_at_most_two_hours_apart_prove_as_a_log_does(keeper: Keeper) -> None:
    """Read off the display from when the packages went in, through a night awake."""
    keeper.waits_until("2026-08-14T19:42")
    for half in range(17):
        keeper.types("observe", "freezer", "temperature", "-18 °C")
        keeper.now += 7200 if half < 16 else 0
    [told] = reasons(keeper.task("a/freeze.1"), "estimate freeze_hold")
    assert "proved: core at or below" in told


@pytest.mark.parametrize(
    ("words", "text", "said"),
    [
        (["freezer"], "time,humidity\n2026-08-15T06:00,60\n", "log.csv:1:1: no column could be the temperature"),
        (["freezer"], "time,probe 1 temp,probe 2 temp\n2026-08-15T06:00,60,-18\n", """write --column 'probe 1 temp' or --column 'probe 2 temp'"""),
        (["freezer"], "time,temp C\n2026-08-15T06:00,-18\n2026-08-15T06:10,cold\n", 'log.csv:3:18: "cold" is not a number'),
        (["freezer"], "time,temp C\n2027-08-15T06:00,-18\n2027-08-15T06:10,-18\n", "is still to come"),
        (["cellar"], "time,temp\n2026-08-15T06:00,-18\n", "series freezer"),
        (["freezer", "--of", "chest"], "time,temp\n2026-08-15T06:00,-18\n", '"chest" is not a freezer of this yard'),
        (["freezer", "--unit", "K"], "time,temp\n2026-08-15T06:00,-18\n", '"K" is not a unit known here'),
    ],
)
def test_what_is_not_a_log_is_refused_and_nothing_is_written(keeper: Keeper, tmp_path: Path, words: list[str], text: str, said: str) -> None:
    """With the file, the line and what to write."""
    path = tmp_path / "log.csv"
    path.write_text(text)
    facts = keeper.view.facts
    assert said in keeper.waits_until("2026-08-16T09:00").types("observe", "series", *words, "--file", str(path), refused=True)
    assert keeper.view.facts == facts


def test_the_keeper_says_which_column_and_which_unit(keeper: Keeper, tmp_path: Path) -> None:
    """Two probes, one of them in the freezer, in °F, which the file does not say."""
    path = tmp_path / "log.csv"
    path.write_text("time,room,freezer probe\n" + "".join(f"2026-08-15T{hour:02}:00,70,-0.4\n" for hour in range(8)))
    said = keeper.waits_until("2026-08-16T09:00").types("observe", "series", "freezer", "--file", str(path), "--column", "freezer probe", "--unit", "°F")
    assert "8 readings from Sat 15 Aug 00:00 to Sat 15 Aug 07:00, every 1 h; -18 °C to -18 °C" in said
    assert reasons(keeper.task("a/freeze.1"), "proof")


def test_the_record_is_a_picture_with_the_core_the_hold_and_the_kill(keeper: Keeper, tmp_path: Path) -> None:
    """A power cut in the first night: the air warms, the core hardly; the kill is over where the record proves it. Without a record there is none."""
    out = tmp_path / "freezer.svg"
    assert "nothing is recorded of the freezer" in keeper.types("freezer", "--picture", str(out), refused=True)
    assert not out.exists()
    keeper.waits_until("2026-08-17T09:00").types("observe", "series", "freezer", "--file", log(tmp_path, powerless, "2026-08-17T08:50"))
    assert f"A picture is in {out}." in keeper.types("freezer", "--picture", str(out))
    drawn = ElementTree.parse(out).getroot()
    texts = [one.text or "" for one in drawn.iter("{http://www.w3.org/2000/svg}text")]
    assert {"its air", "core of the load"} <= set(texts)
    assert any(text.startswith("Freeze 16 packages of lot a") for text in texts)
    [kill] = [text for text in texts if text.startswith("kill over ")]
    assert "Sat 15 Aug" in kill or "Sun 16 Aug" in kill
    lines = list(drawn.iter("{http://www.w3.org/2000/svg}polyline"))
    assert [one.get("stroke-width") for one in lines] == ["1.4", "3"]
