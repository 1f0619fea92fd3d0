"""Every statement that estimates, rules and planning can make, read from their code: its kind and the names of its values."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

ROOMS = ("instruments", "estimates", "rules", "planning", "application", "cli")
ROOT = Path(__file__).resolve().parents[3] / "scheduler"


def emitted(code: str) -> Iterator[tuple[str | None, frozenset[str | None]]]:
    """Kind and value names of each `say(...)` of a module; the kind is None where it is not written out, a name where a mapping is unpacked."""
    for call in ast.walk(ast.parse(code)):
        if isinstance(call, ast.Call) and isinstance(call.func, ast.Name) and call.func.id == "say":
            kind = call.args[0]
            yield (kind.value if isinstance(kind, ast.Constant) else None), frozenset(one.arg for one in call.keywords)


def modules() -> Iterator[Path]:
    """The modules that make statements."""
    yield from (path for room in ROOMS for path in sorted((ROOT / room).glob("*.py")))
