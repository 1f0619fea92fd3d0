"""An editor with a YAML language server completes a rule file, explains its keys and marks its errors, by the JSON Schema that we write."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner

from scheduler.application.file_keys import KEYS
from scheduler.cli import main
from tests.application.language_server import LanguageServer

pytestmark = pytest.mark.system


@pytest.fixture
def new_rules(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """What `rules new` writes, with the schema beside it that its first line names."""
    monkeypatch.chdir(tmp_path)
    for words in (["rules", "new", "mine.yaml"], ["rules", "schema"]):
        result = CliRunner().invoke(main, words)
        assert result.exit_code == 0, result.output
    (tmp_path / "rules.schema.json").write_text(result.output, encoding="utf-8")
    return tmp_path / "mine.yaml"


@pytest.fixture
def editor(new_rules: Path) -> Iterator[LanguageServer]:
    """The server that .ci/readers.sh fetched."""
    program = Path(os.environ["AFTERPULL_READERS"]) / "node_modules/yaml-language-server/bin/yaml-language-server"
    with LanguageServer(["node", str(program), "--stdio"], new_rules.parent) as server:
        yield server


def place(text: str, words: str) -> tuple[int, int]:
    """Line and character, from 0, at the end of the first of these words."""
    before = text[: text.index(words) + len(words)]
    return before.count("\n"), len(before) - before.rfind("\n") - 1


def test_what_rules_new_writes_has_nothing_wrong(new_rules: Path, editor: LanguageServer) -> None:
    """No line of it is marked."""
    assert editor.opens(new_rules, new_rules.read_text(encoding="utf-8")) == []


def test_a_key_is_explained_by_its_sentence(new_rules: Path, editor: LanguageServer) -> None:
    """The same that `rules schema --text` prints, for a key of a card and one of the file."""
    text = new_rules.read_text(encoding="utf-8")
    editor.opens(new_rules, text)
    for key, record in (("    hands", "Card"), ("parameters", "RuleSet")):
        line, character = place(text, key)
        said = editor.at("hover", new_rules, line, character - 1)["contents"]["value"]
        assert KEYS[record][key.strip()].rstrip(".") in said.replace("\\", "").replace("&nbsp;", " "), said


@pytest.mark.parametrize(
    ("typed", "offered", "left"),
    [("    ", {"deadline", "window", "alongside"}, {"hands", "title"}), ("    loss: ", {"food safety", "colony", "crop", "comfort"}, {"deadline"})],
)
def test_keys_and_words_are_completed(typed: str, offered: set[str], left: set[str], new_rules: Path, editor: LanguageServer) -> None:
    """The keys that a card may still have, but none that it has; and the words that a key may hold."""
    text = new_rules.read_text(encoding="utf-8").replace("    hands:", f"{typed}\n    hands:", 1)
    editor.opens(new_rules, text)
    line, _ = place(text, f"\n{typed}\n")
    found = {one["label"] for one in editor.at("completion", new_rules, line - 1, len(typed))["items"]}
    assert offered <= found
    assert not left & found


@pytest.mark.parametrize(
    ("written", "instead", "said", "marked"),
    [("    hands:", "    handss:", "handss", "handss"), ("version: 1", "version: one", "", "one"), ("basis: assumed", "basis: guessed", "", "guessed")],
)
def test_an_error_is_marked_where_it_stands(written: str, instead: str, said: str, marked: str, new_rules: Path, editor: LanguageServer) -> None:
    """A key misspelt, a number in words, a basis that is none: at its line and character, before anything is run."""
    text = new_rules.read_text(encoding="utf-8").replace(written, instead, 1)
    found = editor.opens(new_rules, text)
    line, end = place(text, marked)
    assert [one for one in found if one["range"]["end"] == {"line": line, "character": end} and said in one["message"]], found
