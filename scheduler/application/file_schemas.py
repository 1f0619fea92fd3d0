"""JSON Schemas, draft 2020-12, of the files that people write, each key with its sentence; and the same as text.

A schema knows keys and kinds. Units, names and expressions are for the program, which says what to write instead.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from pydantic.json_schema import GenerateJsonSchema

from scheduler.application.file_keys import KEYS
from scheduler.application.packs import About
from scheduler.documents import File, Record
from scheduler.facts.harvest import Harvest
from scheduler.facts.yard import Yard
from scheduler.outputs.notify.config import NotificationConfig
from scheduler.rules.load import load
from scheduler.rules.schema import HIVE, RuleSet

DIALECT = "https://json-schema.org/draft/2020-12/schema"
FILES: dict[str, type[Record | File]] = {"rules": RuleSet, "yard": Yard, "harvest": Harvest, "channels": NotificationConfig, "pack": About}
"""By kind of file."""


class _AsWritten(GenerateJsonSchema):
    """Defaults are SI numbers inside the program, which nobody would write."""

    def default_schema(self, schema: Any) -> dict[str, Any]:
        """The schema of the value alone."""
        return dict(self.generate_inner(schema["schema"]))


def json_schema(kind: str, products: Iterable[str] | None = None) -> dict[str, Any]:
    """The schema of a kind of file in `FILES`; `products` are those that a harvest or a card may name, for None those of the bundled sets."""
    model = FILES[kind]
    schema = model.model_json_schema(by_alias=True, mode="validation", schema_generator=_AsWritten)
    for name, described in {model.__name__: schema, **schema.get("$defs", {})}.items():
        for keys in _properties(described):
            for key, value in keys.items():
                value |= {"title": key, "description": KEYS[name][key]}
    if kind in ("harvest", "rules"):
        known = [*(load().products.known if products is None else products)]
        kinds = [schema["$defs"]["Lot"]["properties"]["kind"]["enum"]] if kind == "harvest" else [words for words in _enums(schema) if HIVE in words]
        for words in kinds:
            words += known
    return {"$schema": DIALECT, **schema, "title": f"afterpull {kind} file"}


def _enums(described: Any) -> Iterator[list[Any]]:
    """Every list of words in a schema, of which one is to be written."""
    for key, value in described.items() if isinstance(described, dict) else enumerate(described) if isinstance(described, list) else ():
        if key == "enum":
            yield value
        else:
            yield from _enums(value)


def _properties(described: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
    """The keys of a mapping, which may also be written short."""
    yield from (one["properties"] for one in (described, *described.get("anyOf", ())) if "properties" in one)


def as_text(kind: str) -> Iterator[str]:
    """The keys of a kind of file, each with its sentence, mapping by mapping."""
    schema = json_schema(kind)
    for name, described in {FILES[kind].__name__: schema, **schema.get("$defs", {})}.items():
        for keys in _properties(described):
            yield f"{name}:"
            yield from (f"  {key}: {value['description']}" for key, value in keys.items())
