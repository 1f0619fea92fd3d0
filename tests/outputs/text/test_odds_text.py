"""Odds in words a keeper can weigh, and what they rest on."""

from __future__ import annotations

import json
import re
from pathlib import Path
from shutil import copytree

import pytest
from click.testing import CliRunner

from scheduler.cli import main
from scheduler.outputs.text.odds_text import odds_text, share_words
from tests.keeper import Keeper
from tests.outputs.plans import plan

LEVEE = Path(__file__).parents[3] / "examples" / "pelican_bend" / "levee-1.yaml"


@pytest.mark.parametrize(
    ("kept", "words"),
    [
        (200, "19 of 20"),
        (186, "19 of 20"),
        (180, "9 of 10"),
        (150, "3 in 4"),
        (124, "half"),
        (70, "half"),
        (60, "1 in 5"),
        (20, "1 in 5"),
        (19, "not likely"),
        (0, "not likely"),
    ],
)
def test_a_share_is_called_by_the_nearest_word(kept: int, words: str) -> None:
    """Of two hundred futures."""
    assert share_words(kept, 200) == words


@pytest.mark.slow
def test_the_least_likely_comes_first_with_what_it_hangs_on_and_what_was_assumed() -> None:
    """As typed; never a percentage of likelihood, and the same twice."""
    words = ["plan", str(LEVEE), "--as-of", "2026-06-20T08:15", "--odds"]
    text = CliRunner().invoke(main, words).output
    told = " ".join(text.partition("HOW LIKELY")[2].split())
    assert told.startswith("- Freeze 24 packages of lot comb, due Tue 23 Jun 18:28: ")
    assert re.search(r"It hangs on S(at 20|un 21) Jun: keep those hours\.", told)  # the weekend on which it is cut and packed
    assert "What would help: 2 frames of levee-1/comb kept whole for now, in the freezer or warm and dry: " in told
    assert "Assumed: work takes 0.7 to 1.8 of its time, what holds may hold longer, 1 day in 10 missed, wet spells close work outside; 200 futures." in told
    assert not re.search(r"\d %", told.partition("Yours:")[0])
    assert CliRunner().invoke(main, words).output == text


@pytest.mark.parametrize(("missed", "words"), [(0.0, "no day missed"), (0.05, "1 day in 20 missed"), (0.1, "1 day in 10 missed"), (0.4, "2 days in 5 missed")])
def test_the_share_of_days_missed_is_said_as_it_was_written(missed: float, words: str) -> None:
    """Two of five are not one of two."""
    assert f", {words}, " in " ".join(odds_text(plan(), (), missed).split())
    counted = f"{words} by your record" if missed else words
    assert f", {counted}, " in " ".join(odds_text(plan(), (), missed, counted=True).split())


@pytest.mark.slow
def test_the_agenda_says_it_where_it_is_asked(ridge: Keeper) -> None:
    """Of what is still open: nothing of what is done, and the same evening gives the same words."""
    assert "HOW LIKELY" not in ridge.types("agenda")
    text = ridge.types("agenda", "--odds").partition("HOW LIKELY")[2]
    assert "19 of 20 or better" in text
    ridge.types("done", "close-up", "reduce-entrances")
    later = ridge.types("agenda", "--odds").partition("HOW LIKELY")[2]
    assert "close-up" not in later
    assert "Assumed: " in later


@pytest.mark.slow
def test_a_program_reads_them_beside_the_plan() -> None:
    """Only where they were asked for."""
    words = ["plan", str(LEVEE), "--as-of", "2026-06-20T08:15", "--json"]
    assert "odds" not in json.loads(CliRunner().invoke(main, words).output)
    found = json.loads(CliRunner().invoke(main, [*words, "--odds"]).output)
    tasks = {task["id"] for task in found["tasks"]}
    assert found["odds"]
    assert found["odds"][0]["help"]["kept"] > found["odds"][0]["help"]["of"] / 2
    for one in found["odds"]:
        assert one.keys() == {"task", "kept", "of", "median", "nine_in_ten", "hangs_on", "help"}
        assert one["task"] in tasks
        assert one["kept"] <= one["of"] == 200


@pytest.mark.slow
def test_the_plain_agenda_says_it_only_where_a_limit_is_less_likely_than_three_in_four(tmp_path: Path, ridge: Keeper) -> None:
    """Where every other day is missed, in one line; what Kestrel Bank has to do is likely, and nothing is said."""
    assert "HOW LIKELY" not in ridge.types("agenda")
    copytree(LEVEE.parent, tmp_path / "bend")
    with (tmp_path / "bend" / "yard.yaml").open("a", encoding="utf-8") as yard:
        yard.write("\nevenings missed: 50 %\n")
    keeper = Keeper(tmp_path / "levee.sqlite", str(tmp_path / "bend"), "America/Chicago", "2026-06-20T08:30").logs("levee-1")
    said = " ".join(keeper.types("agenda").partition("HOW LIKELY")[2].split())
    assert re.match(r"- \w[^:]*, due \w+ \d+ Jun \d\d:\d\d: (half|1 in 5|not likely)\. What it hangs on and what would help: afterpull agenda --odds \[", said)
    assert said.count(" - ") == 0
    assert "HOW LIKELY" not in keeper.types("agenda", "--at", "apiary")
