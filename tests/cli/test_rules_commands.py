"""`afterpull rules` as a person types it."""

from __future__ import annotations

import json
from pathlib import Path
from shutil import copytree

import pytest
from click.testing import CliRunner

from scheduler.cli.rules_commands import rules

ROOT = Path(__file__).resolve().parents[2]
BROKEN = ROOT / "tests" / "rules" / "broken"
EXAMPLES = ROOT / "examples"


def typed(*words: str) -> tuple[int, str, str]:
    """Exit status, standard output and standard error."""
    result = CliRunner().invoke(rules, words)
    assert result.exception is None or isinstance(result.exception, SystemExit)
    return result.exit_code, result.stdout, result.stderr


def test_check_without_files_is_content_with_the_bundled_ones() -> None:
    """Exit status 0 and one line."""
    assert typed("check") == (0, "nothing is wrong in the bundled rule files\n", "")


def test_check_of_a_broken_file_tells_every_fault_and_exits_with_2() -> None:
    """Faults go to standard error, advice to standard output."""
    status, out, wrong = typed("check", str(BROKEN / "unknown_parameter.yaml"))
    assert status == 2
    assert wrong.count("unknown_parameter.yaml:") == 4
    assert out.startswith("advice: ")


def test_check_of_a_file_with_advice_only_is_content(tmp_path: Path) -> None:
    """A parameter that nothing reads is no fault."""
    (tmp_path / "mine.yaml").write_text("ruleset: mine\nversion: 1\nparameters: {spare: {value: 3 h, basis: assumed, checked: 2026-11-25}}\n")
    status, out, wrong = typed("check", str(tmp_path / "mine.yaml"))
    assert (status, wrong) == (0, "")
    assert 'parameter "spare": no card uses it' in out


def test_list_names_every_card_by_its_set() -> None:
    """So that a person can ask to be shown one."""
    status, out, _ = typed("list")
    assert status == 0
    assert "  cut comb/drain    " in out


def test_list_by_basis_and_age_finds_what_nobody_has_looked_at() -> None:
    """Numbers checked in November 2026 are stale after three years, and not a day before."""
    assert "assumed, checked" in typed("list", "--basis", "assumed")[1]
    assert typed("list", "--stale", "3y", "--as-of", "2027-01-01")[1] == "none\n"
    status, out, _ = typed("list", "--stale", "3y", "--as-of", "2036-01-01", "--basis", "published")
    assert status == 0
    assert "published, checked" in out
    assert "assumed" not in out


def test_show_tells_a_card_with_its_numbers_and_what_waits_for_it() -> None:
    """File and line first; then the card, its parameters with their basis, cautions, and what comes after."""
    status, out, _ = typed("show", "cut comb/drain")
    assert status == 0
    assert out.startswith("cut comb/drain    rulesets/cut_comb.yaml:")
    assert "cut comb, drain floor = 12 h (common practice, checked " in out
    assert "caution food handling: " in out
    assert "waits for it: cut comb/pack" in out


def test_show_of_an_unknown_card_names_the_nearest() -> None:
    """Exit status 2, no traceback."""
    status, out, wrong = typed("show", "cut comb/drian")
    assert (status, out) == (2, "")
    assert '"drain"' in wrong


def test_schema_prints_the_dialect_first() -> None:
    """So that an editor knows what it reads."""
    status, out, _ = typed("schema")
    assert status == 0
    assert json.loads(out)["$schema"] == "https://json-schema.org/draft/2020-12/schema"


@pytest.mark.parametrize("command", ["check", "list", "show", "schema"])
def test_every_command_shows_an_example(command: str) -> None:
    """In its help."""
    assert "Example: afterpull rules" in typed(command, "--help")[1]


def test_the_rules_of_a_yard_are_shown_listed_and_checked(tmp_path: Path) -> None:
    """Pelican Bend with its overlay, and a number of its own: which file a number is from, and why it is so."""
    folder = copytree(EXAMPLES / "pelican_bend", tmp_path / "bend")
    yard = folder / "yard.yaml"
    assert "beetle watch" in typed("list", "--yard", str(yard))[1]
    assert "beetle watch" not in typed("list")[1]
    assert "rulesets/warm_humid.yaml" in typed("show", "every lot/work-up deadline", "--yard", str(yard))[1]
    assert typed("check", "--yard", str(yard)) == (0, f"nothing is wrong in the rules of {yard}\n", "")
    yard.write_text(yard.read_text(encoding="utf-8") + "\nchanges: {cut comb: {parameters: {drain floor: 18 h}}}\n", encoding="utf-8")
    said = typed("show", "cut comb/drain", "--yard", str(yard))[1]
    assert "drain floor = 18 h, instead of 12 h (common practice, checked 2026-11-25; usual: 12 h to 24 h" in said
    yard.write_text(yard.read_text(encoding="utf-8").replace("drain floor", "drian floor"), encoding="utf-8")
    status, _, said = typed("check", "--yard", str(yard))
    assert status == 2
    assert 'has no parameter "drian floor"' in said


def test_what_a_change_does_to_the_bundled_scenarios(tmp_path: Path) -> None:
    """Who stirs by machine and waits three days breaks the promise of 80 h; a change that is wrong itself is said once."""
    mine, bundled = tmp_path / "mine.yaml", str(ROOT / "rulesets" / "soft_set.yaml")
    mine.write_text("ruleset: mine\nversion: 1\nchanges: {soft set honey: {parameters: {setting: 3 d}}}\n", encoding="utf-8")
    status, _, said = typed("test", bundled, "--with", str(mine))
    assert status == 2
    assert "seeded and jarred, not bottled: seed > hold: ridge-2/b/seed holds 3 d, expected at least 80 h" in said
    mine.write_text("ruleset: mine\nversion: 1\nchanges: {cut comb: {parameters: {drain floor: 90 h}}}\n", encoding="utf-8")
    status, _, said = typed("test", bundled, "--with", str(mine))
    assert status == 2
    assert said.count("lies above") == 1
