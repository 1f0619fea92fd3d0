"""What a keeper types at the bench: names of tasks, moments, readings, harvests in words; and the words that come back."""

from __future__ import annotations

import re
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from scheduler.application.plan_files import rules_of
from scheduler.application.templates import yard_text
from scheduler.cli import main
from scheduler.cli.completion import TASK
from scheduler.cli.log_commands import done
from scheduler.facts.days import MONTHS
from scheduler.facts.season import Season
from scheduler.facts.yard import Yard, read_yard
from tests.keeper import Keeper, frozen


@pytest.fixture
def ridge(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Keeper:
    """Kestrel Bank on the evening after the pull."""
    monkeypatch.chdir(tmp_path)
    keeper = Keeper(tmp_path / "ledger.sqlite", "kestrel_bank", "Europe/Ljubljana", "2026-08-11T11:00").logs("ridge-2")
    return keeper.waits_until("2026-08-11T20:00")


def test_several_tasks_are_told_at_once(ridge: Keeper) -> None:
    """A line for each."""
    assert ridge.types("done", "close-up", "reduce-entrances").count("done Tue 11 Aug 20:00") == 2
    assert {ridge.task(name).status for name in ("close-up", "reduce-entrances")} == {"done"}


def test_of_several_tasks_what_can_be_is_recorded_and_of_the_rest_it_is_said_why_not(ridge: Keeper) -> None:
    """One is done, one has no such name, one was done before."""
    ridge.types("done", "b/spin", "--at", "19:00")
    text = ridge.types("done", "close-up", "wobble", "b/spin", refused=True)
    assert "done Tue 11 Aug 20:00" in text
    assert 'no task is named "wobble"' in text
    assert "ridge-2/b/spin is done already, Tue 11 Aug 19:00" in text
    assert ridge.task("close-up").status == "done"


def test_several_are_skipped_at_once(ridge: Keeper) -> None:
    """For one reason; one that was done is not."""
    ridge.types("done", "close-up")
    text = ridge.types("skip", "b/cappings", "b/render-wax", "close-up", "--because", "no wax this year", refused=True)
    assert text.count("skipped, no wax this year") == 2
    assert "ridge-2/close-up is done already, so it is not skipped" in text
    assert {ridge.task(name).status for name in ("b/cappings", "b/render-wax")} == {"skipped"}


def test_an_ambiguous_name_lists_what_it_could_be(ridge: Keeper) -> None:
    """Each lot has a record to open."""
    text = ridge.types("done", "lot-record", refused=True)
    assert '"lot-record" could be any of 3 tasks' in text
    assert all(f"ridge-2/{lot}/lot-record" in text for lot in "abc")


@pytest.mark.parametrize(("typed", "meant"), [("freez", "ridge-2/a/freeze.1"), ("a/strian", "b/strain"), ("Close Up", "ridge-2/close-up")])
def test_an_unknown_name_lists_the_near_ones(ridge: Keeper, typed: str, meant: str) -> None:
    """Half a name, two letters changed over, a title."""
    text = ridge.types("done", typed, refused=True)
    assert f'no task is named "{typed}"' in text
    assert meant in text


def test_the_end_of_an_id_is_enough_and_the_only_batch_needs_no_number(ridge: Keeper) -> None:
    """a/cut is ridge-2/a/cut.1."""
    ridge.types("done", "a/cut", "--at", "19:30")
    assert ridge.told(ridge.task("a/cut.1")) == "2026-08-11 19:30"


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("19:40", "2026-08-11 19:40"),
        ("yesterday 19:40", "2026-08-11 19:40"),
        ("2026-08-11T19:40", "2026-08-11 19:40"),
        ("2026-08-11T17:40Z", "2026-08-11 19:40"),
        ("Tue 19:40", "2026-08-11 19:40"),
        ("Tue 11 Aug 19:40", "2026-08-11 19:40"),
        ("11 August 19:40", "2026-08-11 19:40"),
        ("Tue 11 Aug 2026 19:40", "2026-08-11 19:40"),
    ],
)
def test_moments_are_typed_as_people_say_them(ridge: Keeper, typed: str, meant: str) -> None:
    """Local time at the yard, unless an offset is given."""
    if typed.startswith("yesterday"):
        ridge.waits_until("2026-08-12T08:00")
    ridge.types("done", "close-up", "--at", typed)
    assert ridge.told(ridge.task("close-up")) == meant


def test_a_clock_time_of_today_that_is_still_to_come_is_not_taken_for_yesterdays(ridge: Keeper) -> None:
    """Told at eight in the morning, half past nine in the evening may be a slip of the finger."""
    text = ridge.waits_until("2026-08-12T08:00").types("done", "close-up", "--at", "21:30", refused=True)
    assert 'Wed 12 Aug 21:30 is still to come; now it is Wed 12 Aug 08:00\n    write "yesterday 21:30", if that is meant' in text
    assert ridge.task("close-up").status == "planned"


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("soon", '"soon" is not a time'),
        ("25:00", '"25:00" is not a time'),
        ("30 Feb 12:00", '"30 Feb 12:00" is not a time'),
        ("Wed 11 Aug 19:40", "11 Aug 2026 is a Tue"),
        ("Mon", '"Mon" is a day, and no time of it'),
        ("Tue 20:01", "Tue 11 Aug 20:01 is still to come"),
        ("2026-08-12T19:40", "is still to come"),
        ("yesterday 19:40", "lies before the supers came off, Tue 11 Aug 10:30"),
    ],
)
def test_what_can_not_be_a_moment_is_refused(ridge: Keeper, typed: str, words: str) -> None:
    """No time at all, one that is still to come, one before the pull."""
    assert words in ridge.types("done", "close-up", "--at", typed, refused=True)


def test_a_hold_can_not_end_before_it_began(ridge: Keeper) -> None:
    """The drain was begun at six."""
    ridge.types("done", "a/drain.1", "--at", "18:00")
    assert "lies before it was begun, Tue 11 Aug 18:00" in ridge.types("done", "a/drain.1", "--at", "17:00", refused=True)


def test_what_is_done_is_done_once(ridge: Keeper) -> None:
    """A second word is refused, with the way to take the first back."""
    ridge.types("done", "close-up")
    assert "afterpull undo" in ridge.types("done", "close-up", refused=True)


def test_putting_off_takes_a_time_to_come(ridge: Keeper) -> None:
    """A clock time means the next one; a day that is over is refused."""
    assert "put off until Wed 12 Aug 18:00" in ridge.types("skip", "b/strain", "--until", "18:00")
    assert "is over" in ridge.types("skip", "b/strain", "--until", "2026-08-10T18:00", refused=True)


@pytest.mark.parametrize(
    ("typed", "until"),
    [
        ("tomorrow", "Wed 12 Aug 00:00"),
        ("tomorrow 17:30", "Wed 12 Aug 17:30"),
        ("Sun 14:00", "Sun 16 Aug 14:00"),
        ("Tue 19:00", "Tue 18 Aug 19:00"),
        ("Tue 21:00", "Tue 11 Aug 21:00"),
        ("Wed 26 Aug 17:00", "Wed 26 Aug 17:00"),
        ("5 Jan 09:00", "Tue 5 Jan 09:00"),
    ],
)
def test_putting_off_reads_what_the_program_prints(ridge: Keeper, typed: str, until: str) -> None:
    """A weekday is the next one, a date without its year the nearest; told on Tuesday 11 August at eight in the evening."""
    assert f"put off until {until}" in ridge.types("skip", "b/strain", "--until", typed)


def test_what_is_done_begun_or_skipped_is_not_put_off(ridge: Keeper) -> None:
    """Nothing would move, so nothing is said to."""
    ridge.types("done", "close-up", "a/drain.1")
    ridge.types("skip", "b/cappings", "--because", "no wax this year")
    assert "close-up is done already" in ridge.types("skip", "close-up", "--until", "18:00", refused=True)
    assert "a/drain.1 is begun already" in ridge.types("skip", "a/drain.1", "--until", "18:00", refused=True)
    assert "b/cappings is skipped already" in ridge.types("skip", "b/cappings", "--until", "18:00", refused=True)
    ridge.types("undo")
    assert "put off until" in ridge.types("skip", "b/cappings", "--until", "18:00")


def test_skipping_needs_a_reason_or_a_time(ridge: Keeper) -> None:
    """One of the two."""
    assert "--because" in ridge.types("skip", "b/strain", refused=True)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["freezer", "temperature", "-16", "C"], "freezer temperature of freezer: -16 C"),
        (["freezer", "temperature", "3 °F"], "freezer temperature of freezer: 3 °F"),
        (["room", "humidity", "60%"], "room humidity of room: 60%"),
        (["dearth", "began"], "robbing begins: seen on 2026-08-11"),
        (["First", "Frost", "--on", "2026-08-09"], "first frost: seen on 2026-08-09"),
    ],
)
def test_what_was_seen_is_told_as_people_say_it(ridge: Keeper, words: list[str], told: str) -> None:
    """With or without a degree sign, in capitals or not."""
    assert told in ridge.types("observe", *words)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["moisture", "17.8 %"], "--of ridge-2/a or --of ridge-2/b"),
        (["moisture", "17.8"], "17.8"),
        (["moisture", "80 %", "--of", "a"], "can not be"),
        (["moisture", "17.8 %", "--of", "z"], '"z" is not one of what it can be of'),
        (["first", "forst"], '"first frost"'),
        (["first", "frost", "--on", "2026-10-09"], "is still to come"),
        (["first", "frost", "--on", "autumn"], '"autumn" is not a date'),
    ],
)
def test_what_can_not_have_been_seen_is_refused(ridge: Keeper, words: list[str], told: str) -> None:
    """Of what, in which unit, on which day."""
    assert told in ridge.types("observe", *words, refused=True)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["observe", "moisture", "17.8 %", "--of", "b"], "reading moisture of ridge-2/b"),
        (["observe", "first", "frost"], "observed first frost"),
        (["skip", "b/strain", "--until", "tomorrow 18:00"], "task put off ridge-2/b/strain"),
        (["serve", "--new", "kitchen"], "setting changed feed address of kitchen"),
    ],
)
def test_what_is_taken_back_is_named(ridge: Keeper, words: list[str], told: str) -> None:
    """Whatever it was, a setting too: an address that works no longer is not lost unseen."""
    ridge.types(*words)
    assert f"Taken back: {told}, told of Tue 11 Aug 20:00" in ridge.types("undo")


def test_completion_offers_open_tasks_only(ridge: Keeper) -> None:
    """By the beginning of an id or of one of its parts."""
    ridge.types("done", "close-up")
    context = click.Context(done)
    context.params["ledger"] = str(ridge.ledger)
    with frozen("2026-08-11T18:00"):
        offered = [item.value for item in TASK.shell_complete(context, done.params[0], "")]
        drains = [item.value for item in TASK.shell_complete(context, done.params[0], "drain")]
    assert "ridge-2/close-up" not in offered
    assert "ridge-2/reduce-entrances" in offered
    assert drains == ["ridge-2/a/drain.1"]


@pytest.mark.parametrize(
    ("typed", "offered"),
    [
        ("agenda --for ", ["keeper", "Ash"]),
        ("agenda --for A", ["Ash"]),
        ("agenda --at a", ["apiary", "anywhere"]),
        ("calendar --for k", ["keeper"]),
        ("calendar --at st", ["store"]),
        ("calendar --stream c", ["cut comb", "chunk honey"]),
    ],
)
def test_people_places_and_streams_are_completed_as_the_shell_asks(tmp_path: Path, typed: str, offered: list[str]) -> None:
    """By the protocol that a shell speaks with the program, in a yard where Ash works too."""
    keeper = Keeper(tmp_path / "ledger.sqlite", "wattle_gully", "Australia/Hobart", "2026-02-21T09:30")
    words = typed.split(" ")
    environment = {"_AFTERPULL_COMPLETE": "bash_complete", "COMP_WORDS": f"afterpull {typed}", "COMP_CWORD": str(len(words))}
    result = CliRunner().invoke(main, env={**environment, "AFTERPULL_LEDGER": str(keeper.ledger)}, prog_name="afterpull")
    assert [line.removeprefix("plain,") for line in result.output.splitlines()] == offered


def test_completion_is_silent_without_a_ledger(tmp_path: Path) -> None:
    """It never speaks of errors."""
    context = click.Context(done)
    context.params["ledger"] = str(tmp_path / "none.sqlite")
    assert TASK.shell_complete(context, done.params[0], "") == []


def test_a_harvest_is_logged_in_words(ridge: Keeper, tmp_path: Path) -> None:
    """Its file is written, names with odd signs and all."""
    ridge.types("log", "--harvest", "ridge-3", "--hive", "north: old, tall", "--lot", "extracted 14 medium 17.9%", "--pulled", "09:00")
    assert '"north: old, tall"' in (tmp_path / "ridge-3.yaml").read_text(encoding="utf-8")
    assert ridge.has("a/spin")
    assert "exists already" in ridge.types("log", "--harvest", "ridge-3", "--lot", "extracted 14 medium", refused=True)


def test_more_lots_than_letters_are_refused_not_dropped(ridge: Keeper) -> None:
    """27 of them."""
    words = [word for _ in range(27) for word in ("--lot", "extracted 1 medium 17 %")]
    assert "27 lots are more than can be told in words" in ridge.types("log", "--harvest", "big", *words, refused=True)


def test_of_several_files_none_is_logged_where_one_is_refused(ridge: Keeper, tmp_path: Path) -> None:
    """And both faults are told."""
    good = (ridge.folder / "ridge-2.yaml").read_text(encoding="utf-8").replace("ridge-2", "ridge-4")
    for name, text in (("good", good), ("bad", good.replace("frames: 5", "frames: 0")), ("worse", good.replace("shallow", "tiny"))):
        (tmp_path / f"{name}.yaml").write_text(text, encoding="utf-8")
    text = ridge.types("log", "good.yaml", "bad.yaml", "worse.yaml", refused=True)
    assert "bad.yaml:6:" in text
    assert "worse.yaml:6:" in text
    assert [one.harvest for one in ridge.view.harvests] == ["ridge-2"]


def test_the_first_yard_file_fits_the_place_and_is_not_overwritten(ridge: Keeper, tmp_path: Path) -> None:
    """In the units asked for, with comments."""
    words = [
        "init",
        "--yard",
        "Pear Hill",
        "--latitude",
        "46.3",
        "--longitude",
        "14.2",
        "--timezone",
        "Europe/Ljubljana",
        "--units",
        "us",
        "--ledger",
        str(tmp_path / "new.sqlite"),
    ]
    assert "Pear Hill (Europe/Ljubljana) is set" in ridge.types(*words)
    text = (tmp_path / "yard.yaml").read_text(encoding="utf-8")
    assert "70 °F" in text
    assert "#  first frost: 14 October" in text
    assert "exists already" in ridge.types(*words, refused=True)


def test_a_yard_is_set_from_its_file_or_from_words_not_both(ridge: Keeper) -> None:
    """A name beside the file would be passed over in silence."""
    assert "--from takes all of the yard" in ridge.types("init", "--from", str(ridge.folder / "yard.yaml"), "--yard", "Pear Hill", refused=True)
    assert ridge.view.yard.yard == "Kestrel Bank"


def test_what_is_not_said_about_the_yard_is_asked(ridge: Keeper, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Name, place and units; the zone of the machine is offered, and an answer that can not be is asked for again."""
    monkeypatch.setenv("TZ", "Pacific/Chatham")
    answers = ["Pear Hill", "south", "-43.9", "-176.5", "", "imperial", "us"]
    words = ["init", "--ledger", str(tmp_path / "new.sqlite")]
    result = CliRunner().invoke(main, words, input="".join(f"{answer}\n" for answer in answers))
    assert (result.exit_code, "Time zone [Pacific/Chatham]" in result.output) == (0, True)
    found = read_yard((tmp_path / "yard.yaml").read_bytes(), "yard.yaml")
    assert (found.yard, found.place.latitude, found.place.longitude, found.place.timezone, found.units) == ("Pear Hill", -43.9, -176.5, "Pacific/Chatham", "us")


@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize("latitude", [46.3, -42.9])
def test_every_key_that_is_not_set_stands_in_the_first_yard_file_as_a_comment(units: str, latitude: float) -> None:
    """Each comment alone, and all of them at once, is a sound yard once its # is taken away; the season is that of its half of the earth."""
    text = yard_text("Pear Hill", latitude, 14.2, "Europe/Ljubljana", units)
    lines = text.splitlines()
    keys = [line for line in lines if re.match(r"#( {2})?[a-z]", line)]
    for key in (line for line in keys if line.strip("# ").partition(":")[0] not in ("normals", *MONTHS)):  # twelve months or none
        taken(lines, [key])
    found = taken(lines, keys)
    assert {*Yard.model_fields} - found.model_fields_set == set()
    assert {*Season.model_fields} - found.season.model_fields_set == {"observed"}  # which a keeper with a ledger tells by: afterpull observe
    assert found.normals is not None
    july, january = found.normals.july.day, found.normals.january.day
    assert (july > january) is (latitude > 0)
    assert str(found.season.main_flow_begins) == ("10 May" if latitude > 0 else "10 November")


def taken(lines: list[str], keys: list[str]) -> Yard:
    """The yard where the # of these lines is taken away, checked with its rules."""
    content = "\n".join(line.removeprefix("#") if line in keys else line for line in lines).encode()
    yard = read_yard(content, "yard.yaml")
    rules_of(yard)
    return yard


def test_a_place_that_can_not_be_is_refused_and_nothing_is_written(ridge: Keeper, tmp_path: Path) -> None:
    """91 degrees north."""
    words = [
        "init",
        "--yard",
        "Pole",
        "--latitude",
        "91",
        "--longitude",
        "0",
        "--timezone",
        "UTC",
        "--units",
        "metric",
        "--ledger",
        str(tmp_path / "new.sqlite"),
    ]
    assert "latitude" in ridge.types(*words, refused=True)
    assert not (tmp_path / "yard.yaml").exists()


def test_a_harvest_whose_pieces_fit_no_freezer_is_not_logged(ridge: Keeper, tmp_path: Path) -> None:
    """The freezer's place in the yard file is named."""
    yard = (ridge.folder / "yard.yaml").read_text(encoding="utf-8").replace("space: 90 L", "space: 0.2 L").replace("space: 60 L", "space: 0.1 L")
    (tmp_path / "yard.yaml").write_text(yard, encoding="utf-8")
    ridge.types("init", "--from", "yard.yaml")
    text = ridge.types("log", str(ridge.folder / "ridge-2.yaml"), refused=True)
    assert "yard.yaml:9:" in text
    assert "one packed piece of ridge-2/a takes" in text
