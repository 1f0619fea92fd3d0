"""Each class has a name of its own, and is taken from the module it lives in: a name that is imported only to be passed on has two homes."""

from __future__ import annotations

import ast
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent


def modules(folder: Path) -> dict[str, ast.Module]:
    """The modules of a package by their full names."""
    return {
        ".".join(file.relative_to(folder.parent).with_suffix("").parts).removesuffix(".__init__"): ast.parse(file.read_text(encoding="utf-8"))
        for file in sorted(folder.rglob("*.py"))
    }


def shared_names(found: dict[str, ast.Module]) -> Iterator[str]:
    """Class names that several modules define."""
    homes = defaultdict(list)
    for module, tree in found.items():
        for node in ast.walk(tree):
            if isinstance(node, ast.ClassDef):
                homes[node.name].append(module)
    yield from (f"class {name}: {', '.join(where)}" for name, where in homes.items() if len(where) > 1)


def passed_on(found: dict[str, ast.Module]) -> Iterator[str]:
    """Imports of a name from a module that does not define it."""
    named = ast.ClassDef | ast.FunctionDef | ast.Name
    defined = {
        module: {getattr(node, "name", None) or getattr(node, "id", "") for node in ast.walk(tree) if isinstance(node, named)} for module, tree in found.items()
    }
    for module, tree in found.items():
        for node in ast.walk(tree):
            if isinstance(node, ast.ImportFrom) and node.module in defined:
                names = {alias.name for alias in node.names if f"{node.module}.{alias.name}" not in found}
                yield from (f"{module}: {name} does not live in {node.module}" for name in sorted(names - defined[node.module]))


def test_a_name_has_one_home() -> None:
    """In the whole program."""
    found = modules(ROOT / "scheduler")
    assert [*shared_names(found), *passed_on(found)] == []


def test_a_second_home_is_noticed(tmp_path: Path) -> None:
    """A class defined twice, and one imported from a module that only passes it on."""
    package = tmp_path / "yard"
    package.mkdir()
    texts = {"hive": "class Frame: ...", "super": "class Frame: ...", "door": "from yard.hive import Frame", "room": "from yard.door import Frame"}
    for name, text in texts.items():
        (package / f"{name}.py").write_text(text, encoding="utf-8")
    found = modules(package)
    assert list(shared_names(found)) == ["class Frame: yard.hive, yard.super"]
    assert list(passed_on(found)) == ["yard.room: Frame does not live in yard.door"]
