"""Every broken rule file is refused in the words of the text file beside it.

To add one: write tests/rules/broken/NAME.yaml, run the test, read what it says, and keep that as NAME.txt.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from scheduler.diagnostics import Fault, Refused
from scheduler.documents import LARGEST_FILE
from scheduler.rules.environment import LONGEST
from scheduler.rules.load import check, load

BROKEN = Path(__file__).resolve().parent / "broken"
CASES = sorted(path.stem for path in BROKEN.glob("*.yaml"))
ADVISED = ("long_title",)  # what is only advice
CARD = "ruleset: mine\nversion: 1\ntasks:\n  look:\n    title: Look\n    for: cut comb\n    why: To see.\n"


@pytest.mark.parametrize("case", CASES)
def test_a_broken_rule_file_is_refused_with_its_place_and_what_to_write(case: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """File, line, column, what is wrong, what to write: all of a file's faults at once, advice among them."""
    monkeypatch.chdir(BROKEN)
    found = check([f"{case}.yaml"])
    told = "".join(f"{'advice: ' if finding.advice else ''}{finding.diagnostic}\n" for finding in found)
    assert told == (BROKEN / f"{case}.txt").read_text(encoding="utf-8")
    assert {finding.diagnostic.path for finding in found} == {f"{case}.yaml"}
    assert all(finding.diagnostic.line > 0 and (finding.advice or finding.diagnostic.write) for finding in found)


@pytest.mark.parametrize("case", [case for case in CASES if case not in ADVISED])
def test_no_plan_is_made_with_a_broken_rule_file(case: str) -> None:
    """What `rules check` refuses is refused when a yard names the file, too."""
    with pytest.raises(Refused, match=f"{case}.yaml:"):
        load([f"{case}.yaml"], beside=BROKEN)


def test_an_expression_over_the_cap_is_refused(tmp_path: Path) -> None:
    """An expression of thousands of terms would bring the evaluator down, so its length is capped."""
    (tmp_path / "long.yaml").write_text(CARD + f"    when: {' + '.join(['1.0'] * LONGEST)} > 0.0\n")
    (finding,) = check(["long.yaml"], beside=tmp_path)
    assert "the longest that is read has 2,000" in finding.diagnostic.message
    assert (finding.diagnostic.line, finding.diagnostic.column) == (8, 11)


@pytest.mark.parametrize(
    ("content", "told"),
    [
        pytest.param(b"#" * (LARGEST_FILE + 1), "the largest that is read", id="ten megabytes"),
        pytest.param("ruleset: größer\n".encode("latin-1"), "is not UTF-8", id="wrong encoding"),
        pytest.param(b"ruleset: \x00\n", "is not YAML", id="binary"),
        pytest.param(b"ruleset: mine\nversion: 1\nscenarios: none\n", "a list is needed", id="scenarios that are no list"),
        pytest.param(b"ruleset: mine\nversion: 1\nchanges: none\n", "a mapping of keys to values is needed", id="changes that are no mapping"),
    ],
)
def test_content_that_is_no_rule_file_is_refused(content: bytes, told: str, tmp_path: Path) -> None:
    """Whatever bytes stand in the file, a sentence comes out."""
    (tmp_path / "mine.yaml").write_bytes(content)
    with pytest.raises(Refused, match=told):
        load(["mine.yaml"], beside=tmp_path)


def test_a_file_as_large_as_one_may_be_is_read(tmp_path: Path) -> None:
    """To the last byte."""
    (tmp_path / "mine.yaml").write_bytes(CARD.encode() + b"#" * (LARGEST_FILE - len(CARD)))
    assert "mine/look" in load(["mine.yaml"], beside=tmp_path).by_key


def test_a_missing_file_and_an_unknown_overlay_are_told_apart(tmp_path: Path) -> None:
    """A path is looked for, a name is compared with the overlays there are."""
    with pytest.raises(Fault, match="there is no such file"):
        load(["mine.yaml"], beside=tmp_path)
    (tmp_path / "folder.yaml").mkdir()
    with pytest.raises(Fault, match="cannot be read"):
        load(["folder.yaml"], beside=tmp_path)
    with pytest.raises(Fault, match="no rule set is named") as refused:
        load(["warm humit"])
    assert refused.value.write.startswith('"warm humid"')


def test_a_card_name_that_two_files_share_is_refused_where_it_is_ambiguous(tmp_path: Path) -> None:
    """A bare name is enough until two sets have it; then set and card are written."""
    for name in ("one", "two"):
        (tmp_path / f"{name}.yaml").write_text(CARD.replace("mine", name).replace("look:", "ponder:"))
    asking = CARD.replace("mine", "three").replace("look", "tell") + "    after: {ponder: {}}\n"
    (tmp_path / "three.yaml").write_text(asking)
    with pytest.raises(Refused, match='several cards are named "ponder"') as refused:
        load(["one.yaml", "two.yaml", "three.yaml"], beside=tmp_path)
    assert refused.value.diagnostics[0].write == '"one/ponder" or "two/ponder"'
    (tmp_path / "three.yaml").write_text(asking.replace("{ponder:", "{one/ponder:"))
    assert list(load(["one.yaml", "two.yaml", "three.yaml"], beside=tmp_path).card("three/tell").after) == ["one/ponder"]


@pytest.mark.parametrize("name", ["warm humid", "mine"])
def test_a_name_is_taken_by_an_overlay_that_is_not_read_and_by_another_file(name: str, tmp_path: Path) -> None:
    """Two sets of one name could not be told apart, nor could an overlay be named later."""
    (tmp_path / "one.yaml").write_text(CARD)
    (tmp_path / "two.yaml").write_text(CARD.replace("mine", name))
    [taken] = [finding.diagnostic for finding in check(["one.yaml", "two.yaml"], beside=tmp_path)]
    assert (taken.path, taken.message) == (str(tmp_path / "two.yaml"), f'the name "{name}" is taken by another rule set')


def test_a_keepers_card_does_not_change_what_a_bundled_name_means(tmp_path: Path) -> None:
    """A keeper may call a card "cut"; the bundled cards still wait for the bundled one."""
    (tmp_path / "mine.yaml").write_text(CARD.replace("look:", "cut:"))
    rules = load(["mine.yaml"], beside=tmp_path)
    assert "cut comb/cut" in rules.card("every lot/work-up deadline").after
