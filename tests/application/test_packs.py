"""Packs: what one does is said before it is used, what it holds is data, and a plan names what made it. The pack is invented."""

from __future__ import annotations

import json
import re
from hashlib import sha256
from pathlib import Path

import pytest
from click.testing import CliRunner

from scheduler.application.packs import pack_of, unpacked
from scheduler.cli import main
from scheduler.diagnostics import Refused
from tests.keeper import EXAMPLES

ABOUT = """\
pack: hill yards
version: "2026.1"
author: a keeper of hill yards, invented
licence: CC0-1.0
region: hills of the cool temperate zone
describes: Comb drains longer where the honey house is cold, and mice are kept out by other means.
sources: [common practice]
"""
RULES = """\
ruleset: hills
version: 1
describes: What differs in the hills.
parameters:
  airing: {value: 10 min, basis: assumed, checked: 2026-11-01}
tasks:
  air the room:
    title: Air the honey room
    for: harvest
    after: close up
    hands: $airing
    place: honey room
    loss: comfort
    why: It is damp there.
changes:
  cut comb: {parameters: {drain floor: 18 h}}
  colony: {without: [mouse guard, excluder off]}
scenarios:
  - name: the room is aired
    expect: {air the room: {count: 1, start: after close up}}
"""


@pytest.fixture
def hills(tmp_path: Path) -> Path:
    """The folder of a pack, with code in it that must not run."""
    folder = tmp_path / "hill_yards"
    folder.mkdir()
    for name, text in (("pack.yaml", ABOUT), ("hills.yaml", RULES), ("README.md", "# Hill yards\n"), ("__init__.py", "raise SystemExit('was run')\n")):
        (folder / name).write_text(text, encoding="utf-8")
    return folder


def typed(*words: str) -> tuple[int, str]:
    """Exit status and all that a command says."""
    result = CliRunner().invoke(main, list(words))
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.exit_code, result.output


def test_check_says_what_a_pack_switches_off_changes_and_adds(hills: Path) -> None:
    """And who made it, before anybody plans with it."""
    status, said = typed("rules", "check", str(hills))
    assert status == 0
    assert said == (
        "hill yards 2026.1, by a keeper of hill yards, invented, licence CC0-1.0, for hills of the cool temperate zone: "
        "Comb drains longer where the honey house is cold, and mice are kept out by other means.\n"
        "sources: common practice\n"
        "switches off:\n  colony/excluder off\n  colony/mouse guard\n"
        "changes:\n  cut comb/drain floor: 12 h (common practice) is 18 h (common practice)\n"
        "adds:\n  hills (cards: 1, numbers: 1)\n"
        f"nothing is wrong in {hills}\n"
    )
    assert typed("rules", "test", str(hills)) == (0, "1 passed, 0 failed\n")


@pytest.mark.parametrize(
    ("file", "text", "said"),
    [
        ("README.md", None, "the pack has no README.md"),
        ("pack.yaml", None, "the folder of a pack has no pack.yaml"),
        ("pack.yaml", ABOUT.replace("licence:", "license:"), "unknown key"),
        ("hills.yaml", None, "the pack has no rule file"),
        ("hills.yaml", RULES.partition("scenarios:")[0], "no rule file of the pack has a scenario"),
        ("hills.yaml", RULES.replace("drain floor: 18 h", "drain level: 18 h"), "drain level"),
    ],
)
def test_a_pack_that_is_not_whole_is_refused_with_what_is_missing(hills: Path, file: str, text: str | None, said: str) -> None:
    """Nobody can use what has no account, or trust what was never tried."""
    (hills / file).unlink() if text is None else (hills / file).write_text(text, encoding="utf-8")
    status, answered = typed("rules", "check", str(hills))
    assert (status, said in answered) == (2, True), answered


def test_a_plan_names_what_made_it(hills: Path) -> None:
    """What is bundled, and the pack with the digest of its files, by hand here: another letter, another digest."""
    harvest = str(EXAMPLES / "kestrel_bank" / "ridge-2.yaml")
    status, said = typed("plan", harvest, "--as-of", "2026-08-11T10:30", "--rules", str(hills), "--json")
    assert status == 0
    plan = json.loads(said)
    digest = sha256(b"".join(name.encode() + b"\0" + (hills / name).read_bytes() + b"\0" for name in ("pack.yaml", "hills.yaml"))).hexdigest()
    assert [one["pack"] for one in plan["made_by"]] == ["bundled", "hill yards"]
    assert plan["made_by"][1] == {"pack": "hill yards", "version": "2026.1", "sha256": digest}
    rules = {task["rule"] for task in plan["tasks"]}
    assert "hills/air the room" in rules
    assert "colony/mouse guard" not in rules


def test_a_yard_names_a_pack_by_its_folder_and_an_update_says_which_dates_moved(hills: Path) -> None:
    """From the folder of the yard file; compared with the yard without it."""
    for name in ("yard.yaml", "ridge-2.yaml"):
        (hills.parent / name).write_text((EXAMPLES / "kestrel_bank" / name).read_text(encoding="utf-8"), encoding="utf-8")
    yard = hills.parent / "yard.yaml"
    before = hills.parent / "before.yaml"
    before.write_text(yard.read_text(encoding="utf-8"), encoding="utf-8")
    yard.write_text(re.sub("(?m)^rules: .*$", "rules: [cool temperate, hill_yards]", yard.read_text(encoding="utf-8")), encoding="utf-8")
    status, said = typed("plan", str(hills.parent / "ridge-2.yaml"), "--as-of", "2026-08-11T10:30", "--compare", str(before))
    assert status == 0
    assert "Air the honey room" in said


def test_what_is_typed_lies_where_it_is_typed(hills: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file and a folder beside the keeper, whose yard file lies elsewhere; of two of one name that beside the keeper counts."""
    monkeypatch.chdir(hills.parent)
    harvest = str(EXAMPLES / "kestrel_bank" / "ridge-2.yaml")
    for typed_name, packs in (("hill_yards", ["bundled", "hill yards"]), ("hill_yards/hills.yaml", ["bundled"])):
        status, said = typed("plan", harvest, "--as-of", "2026-08-11T10:30", "--rules", typed_name, "--json")
        assert status == 0, said
        assert [one["pack"] for one in json.loads(said)["made_by"]] == packs
        assert "hills/air the room" in said


def test_an_installed_pack_is_found_by_its_name_and_not_imported(hills: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As pip leaves it: the package beside its metadata, with an entry point that names the folder."""
    metadata = tmp_path / "hill_yards-2026.1.dist-info"
    metadata.mkdir()
    (metadata / "METADATA").write_text("Metadata-Version: 2.1\nName: hill-yards\nVersion: 2026.1\n", encoding="utf-8")
    (metadata / "entry_points.txt").write_text("[afterpull.packs]\nhill yards = hill_yards\n", encoding="utf-8")
    monkeypatch.syspath_prepend(str(tmp_path))
    assert unpacked(["hill yards", "warm humid", "mine.yaml"]) == [str(hills / "hills.yaml"), "warm humid", "mine.yaml"]
    found = pack_of("hill yards")
    assert found is not None
    assert found.about.version == "2026.1"
    assert pack_of("valley yards") is None


def test_a_rule_file_names_others_from_its_own_folder(hills: Path, tmp_path: Path) -> None:
    """A pack can be moved, and stays whole."""
    (hills / "damp.yaml").write_text(RULES.replace("ruleset: hills", "ruleset: damp\nextends: [hills.yaml]").partition("parameters:")[0], encoding="utf-8")
    assert typed("rules", "check", str(hills / "damp.yaml"))[0] == 0


def test_a_folder_that_is_no_pack_says_so(tmp_path: Path) -> None:
    """An empty folder of that name is not passed over for a set of that name."""
    (tmp_path / "mine").mkdir()
    with pytest.raises(Refused, match=r"has no pack\.yaml"):
        pack_of("mine", tmp_path)
