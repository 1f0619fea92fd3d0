"""The JSON Schemas of the files that people write: every key has its sentence, files that are right are valid, and misspelt ones are not."""

from __future__ import annotations

import json
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from click.testing import CliRunner

from scheduler.application.file_keys import KEYS
from scheduler.application.file_schemas import FILES, as_text, json_schema
from scheduler.application.templates import rules_text, yard_text
from scheduler.cli import main
from scheduler.documents import read
from scheduler.rules.load import bundled

TESTS = Path(__file__).resolve().parents[1]
EXAMPLES = TESTS.parent / "examples"
PLACE = """\
yard: x
place: {{latitude: {latitude}, longitude: 14, timezone: Europe/Ljubljana}}
hands: {{sat: none}}
room: {{temperature: 21 °C, humidity: 55 %}}
"""


@cache
def validator(kind: str) -> jsonschema.Draft202012Validator:
    """A validator of draft 2020-12 for a kind of file, after the schema itself was checked."""
    schema = json_schema(kind)
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


def faults(kind: str, content: bytes) -> list[str]:
    """What it says of a file."""
    return [error.message for error in validator(kind).iter_errors(read(content, kind).data)]


def described(kind: str) -> dict[str, dict[str, Any]]:
    """The keys of each mapping of a kind of file, by the name of the mapping."""
    schema = json_schema(kind)
    found = {FILES[kind].__name__: schema, **schema.get("$defs", {})}
    return {name: one["properties"] for name, whole in found.items() for one in (whole, *whole.get("anyOf", ())) if "properties" in one}


def test_every_key_has_one_sentence_and_no_sentence_is_left_over() -> None:
    """The hover of an editor, the schema and the text say the same."""
    keys = {name: {*found} for kind in FILES for name, found in described(kind).items()}
    assert keys == {name: {*sentences} for name, sentences in KEYS.items()}
    assert all(sentence.endswith(".") and sentence.count(". ") == 0 for sentences in KEYS.values() for sentence in sentences.values())
    assert described("harvest")["Lot"]["sets soon"]["title"] == "sets soon"  # what an editor shows above the sentence
    assert "  sells: " + KEYS["Yard"]["sells"] in list(as_text("yard"))


def test_every_bundled_rule_file_and_every_example_is_valid() -> None:
    """The short ways of writing are in the schema too."""
    for file in bundled().iterdir():
        if file.name.endswith(".yaml"):
            assert faults("rules", file.read_bytes()) == []
    files = sorted(EXAMPLES.rglob("*.yaml"))
    kinds = {file: next((kind for kind in ("yard", "harvest", "rules") if kind in _first_keys(file)), "channels") for file in files}
    assert set(kinds.values()) >= {"yard", "harvest"}
    assert {file.name: found for file, kind in kinds.items() if (found := faults(kind, file.read_bytes()))} == {}


def _first_keys(file: Path) -> list[str]:
    return ["rules" if key == "ruleset" else key for key in list(read(file.read_bytes(), file.name).data)[:1]]


@pytest.mark.parametrize("units", ["metric", "us"])
def test_what_init_and_rules_new_write_names_its_schema_and_is_valid(units: str) -> None:
    """An editor finds it there."""
    yard = yard_text("Kestrel Bank", 46.31, 14.18, "Europe/Ljubljana", units)
    mine = rules_text("mine", date(2026, 11, 25))
    assert "$schema=yard.schema.json" in yard
    assert "$schema=rules.schema.json" in mine
    assert faults("yard", yard.encode()) == faults("rules", mine.encode()) == []


@pytest.mark.parametrize("case", ["unknown_keys", "unsourced", "empty_expectation", "place_kitchen", "for_plural", "loss_money"])
def test_a_rule_file_of_the_wrong_shape_is_invalid(case: str) -> None:
    """Unknown and missing keys and words are marked while typing; what one field says against another is for `rules check`."""
    assert faults("rules", (TESTS / "rules" / "broken" / f"{case}.yaml").read_bytes())


@pytest.mark.parametrize(
    ("kind", "content"),
    [
        ("yard", PLACE.format(latitude=460)),
        ("yard", "yard: x\n"),
        ("harvest", "harvest: x\npulled: 2026-08-11T10:30\nlots: [{id: a, kind: cut combs, frames: 5, frame: shallow}]\n"),
        ("harvest", "harvest: x\npulled: 2026-08-11T10:30\nlot: []\n"),
        ("channels", "channel: {}\n"),
    ],
)
def test_a_file_of_the_wrong_shape_is_invalid(kind: str, content: str) -> None:
    """A latitude that is none, missing and misspelt keys, a kind of lot that there is not."""
    assert faults(kind, content.encode())
    assert faults("yard", PLACE.format(latitude=46).encode()) == []


def test_the_command_prints_the_schema_of_each_kind_of_file() -> None:
    """Rule files without a word; as text with one."""
    for kind in FILES:
        assert json.loads(CliRunner().invoke(main, ["rules", "schema", kind]).output)["title"] == f"afterpull {kind} file"
    assert CliRunner().invoke(main, ["rules", "schema"]).output == CliRunner().invoke(main, ["rules", "schema", "rules"]).output
    assert "Lot:" in CliRunner().invoke(main, ["rules", "schema", "harvest", "--text"]).output.splitlines()
