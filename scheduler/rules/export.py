"""The shape of a rule file as JSON Schema, so that an editor can complete and check it while it is written."""

from __future__ import annotations

from typing import Any

from scheduler.rules.schema import RuleSet

DIALECT = "https://json-schema.org/draft/2020-12/schema"


def json_schema() -> dict[str, Any]:
    """JSON Schema, draft 2020-12, of one rule file. It knows keys and kinds; units, names and expressions are for `lint`."""
    return {"$schema": DIALECT, **RuleSet.model_json_schema(by_alias=True, mode="validation"), "title": "afterpull rule file"}
