"""rulesets/README.md, walked as a keeper would: every block is copied into a yard or a file, checked, tested and planned with."""

from __future__ import annotations

import json
import re
from pathlib import Path
from shutil import copytree

import pytest
from click.testing import CliRunner

from scheduler.cli import main

ROOT = Path(__file__).resolve().parents[2]
BOOK = ROOT / "rulesets" / "README.md"
BLOCK = re.compile(r"<!-- (?P<into>yard|file): (?P<name>\w+) -->\n```yaml\n(?P<text>.*?)```", re.DOTALL)
BLOCKS = {found["name"]: (found["into"], found["text"]) for found in BLOCK.finditer(BOOK.read_text(encoding="utf-8"))}


def types(*words: str) -> str:
    """What a command says that succeeds."""
    result = CliRunner().invoke(main, list(words))
    assert result.exit_code == 0, result.output
    return result.output


def yard(folder: Path, name: str) -> Path:
    """Kestrel Bank with a block: under its own lines, or as a file of its own that it names."""
    copytree(ROOT / "examples" / "kestrel_bank", folder / "bank")
    path, (into, text) = folder / "bank" / "yard.yaml", BLOCKS[name]
    if into == "yard":
        path.write_text(path.read_text(encoding="utf-8") + "\n" + text, encoding="utf-8")
    else:
        (folder / "bank" / "mine.yaml").write_text(text, encoding="utf-8")
        path.write_text(path.read_text(encoding="utf-8").replace("rules: [cool temperate]", "rules: [cool temperate, mine.yaml]"), encoding="utf-8")
    return folder / "bank"


def planned(folder: Path) -> str:
    """The plan of the example's harvest there."""
    return types("plan", str(folder / "ridge-2.yaml"), "--as-of", "2026-08-11T10:30")


def test_there_are_eleven_jobs_and_the_forms_and_each_is_tried() -> None:
    """A block without its mark is tried by nobody."""
    text = BOOK.read_text(encoding="utf-8")
    assert len(BLOCKS) == text.count("```yaml") == 12
    assert len(re.findall(r"^## \d+\. ", text, re.MULTILINE)) == 11


@pytest.mark.parametrize("name", BLOCKS)
def test_every_block_is_sound_and_a_plan_is_made_with_it(name: str, tmp_path: Path) -> None:
    """As copied; no advice either, and its own scenarios hold, of which each file has one."""
    folder = yard(tmp_path, name)
    if BLOCKS[name][0] == "file":
        checked = types("rules", "check", str(folder / "mine.yaml"))
        assert checked.startswith("nothing is wrong in"), checked
        scenarios = len(re.findall("^  - name: ", BLOCKS[name][1], re.MULTILINE))
        assert scenarios, "a file without a scenario: rules test refuses it"
        assert types("rules", "test", str(folder / "mine.yaml")) == f"{scenarios} passed, 0 failed\n"
    assert planned(folder)


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("own", "Photograph the comb of lot a"),
        ("weekday", "Sweep the honey room"),
        ("hive", "Requeen north"),
        ("repeat", "Look into the feeders"),
        ("parameter", "Wipe 51 jars of lot b"),
    ],
)
def test_the_card_of_a_block_is_in_the_plan(name: str, words: str, tmp_path: Path) -> None:
    """By its title."""
    assert words in planned(yard(tmp_path, name))


def test_a_product_of_ones_own_is_planned_from_a_harvest_file(tmp_path: Path) -> None:
    """No code knows it: a lot of it is pressed and then strained and bottled, in jars of the size that is usual of it."""
    folder = yard(tmp_path, "product")
    lot = "  - {id: p, kind: pressed honey, frames: 8, moisture: 17.4 %}\n"
    (folder / "pressed.yaml").write_text(f"harvest: pressed\npulled: 2026-08-11T10:30\nhives: [north]\nlots:\n{lot}", encoding="utf-8")
    plan = types("plan", str(folder / "pressed.yaml"), "--as-of", "2026-08-11T10:30")
    assert "Press 8 frames of lot p" in plan
    assert "pressed/p/spin" not in plan
    assert "bottle 59 jars" in plan
    (folder / "yard.yaml").write_text((ROOT / "examples" / "kestrel_bank" / "yard.yaml").read_text(encoding="utf-8"), encoding="utf-8")
    refused = CliRunner().invoke(main, ["plan", str(folder / "pressed.yaml"), "--as-of", "2026-08-11T10:30"])
    assert refused.exit_code == 2
    assert 'pressed.yaml:5:19: lots > kind: "pressed honey" is not known here' in refused.output
    schema = json.loads(types("rules", "schema", "harvest", "--yard", str(yard(tmp_path / "again", "product") / "yard.yaml")))
    assert "pressed honey" in schema["$defs"]["Lot"]["properties"]["kind"]["enum"]


def test_a_number_and_a_card_left_out_change_the_plan(tmp_path: Path) -> None:
    """The drain holds 18 h at the least; nobody is told to order."""
    assert "Order frames, jars, labels" in planned(copytree(ROOT / "examples" / "kestrel_bank", tmp_path / "as_it_is"))
    assert "Order frames, jars, labels" not in planned(yard(tmp_path / "without", "without"))
    why = types("plan", str(yard(tmp_path / "number", "number") / "ridge-2.yaml"), "--as-of", "2026-08-11T10:30", "--why", "ridge-2/a/drain.1")
    assert "18 h" in why


def test_a_new_rule_file_works_as_written_and_takes_no_name_that_is_taken(tmp_path: Path) -> None:
    """Checked, tested and planned with, its commented lines too; what is there already stays."""
    folder = copytree(ROOT / "examples" / "kestrel_bank", tmp_path / "bank")
    mine = folder / "my-rules.yaml"
    assert "is written" in types("rules", "new", str(mine))
    assert types("rules", "check", str(mine)).startswith("nothing is wrong in")
    assert types("rules", "test", str(mine)) == "2 passed, 0 failed\n"
    plan = types("plan", str(folder / "ridge-2.yaml"), "--as-of", "2026-08-11T10:30", "--rules", str(mine))
    assert "Photograph the comb of lot a" in plan
    written = mine.read_bytes()
    for name in ("my-rules.yaml", "colony.yaml", "rules.txt", ".yaml"):
        result = CliRunner().invoke(main, ["rules", "new", str(folder / name)])
        assert result.exit_code == 2, result.output
        assert "write " in result.output
    assert mine.read_bytes() == written
    taken_up = re.sub(r"^(\s*)# (earliest|due|window|repeat|changes|  cut comb|    parameters|    without):", r"\1\2:", written.decode(), flags=re.MULTILINE)
    mine.write_text(taken_up, encoding="utf-8")
    assert taken_up.count("#") < written.decode().count("#") - 7
    assert types("rules", "check", str(mine)).startswith("nothing is wrong in")
