"""How the program is laid: each class has a name of its own and is taken from the module it lives in; modules import each other in no circle, late
imports counted; none is too long to hold in the head, nor so short that its one reader could hold it."""

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


def imports(found: dict[str, ast.Module]) -> dict[str, set[str]]:
    """Which modules each module takes something from, wherever in it the import stands."""
    taken: dict[str, set[str]] = {module: set() for module in found}
    for module, tree in found.items():
        for node in ast.walk(tree):
            if isinstance(node, ast.ImportFrom) and node.module:
                taken[module] |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)} & found.keys() - {module}
            elif isinstance(node, ast.Import):
                taken[module] |= {alias.name for alias in node.names} & found.keys() - {module}
    return taken


def late(found: dict[str, ast.Module], command_line: tuple[str, ...]) -> Iterator[str]:
    """Imports of the program's own modules inside a function, but for the command line, where the start of a command asks for them."""
    for module, tree in found.items():
        if not module.startswith(command_line):
            inside = {id(node): node for each in ast.walk(tree) if isinstance(each, ast.FunctionDef | ast.AsyncFunctionDef) for node in ast.walk(each)}
            found_in = {module: ast.Module([node for node in inside.values() if isinstance(node, ast.Import | ast.ImportFrom)], [])}
            yield from (f"{module} imports {taken} late" for taken in sorted(imports({**dict.fromkeys(found, ast.Module([], [])), **found_in})[module]))


def circles(taken: dict[str, set[str]]) -> Iterator[str]:
    """Modules from which a chain of imports leads back to themselves."""
    for module in taken:
        reached, ahead = set(), [*taken[module]]
        while ahead:
            if (one := ahead.pop()) not in reached:
                reached.add(one)
                ahead += taken[one]
        if module in reached:
            yield f"{module} imports itself by way of {', '.join(sorted(taken[module] & reached))}"


def sizes(folder: Path, taken: dict[str, set[str]], most: int = 400, least: int = 40) -> Iterator[str]:
    """Modules of more lines than `most`, and those of fewer than `least` that one module alone imports."""
    for file in sorted(folder.rglob("*.py")):
        module = ".".join(file.relative_to(folder.parent).with_suffix("").parts)
        lines, readers = len(file.read_text(encoding="utf-8").splitlines()), sum(module in others for others in taken.values())
        if lines > most:
            yield f"{module} has {lines} lines"
        if lines < least and readers == 1 and file.name != "__init__.py":
            yield f"{module} has {lines} lines and one reader"


def test_no_module_is_in_a_circle_too_long_or_too_small() -> None:
    """In the whole program."""
    taken = imports(modules(ROOT / "scheduler"))
    assert [*circles(taken), *sizes(ROOT / "scheduler", taken)] == []


def test_a_circle_a_long_module_and_a_small_one_are_noticed(tmp_path: Path) -> None:
    """A circle that only a late import closes, a module of five lines where four are the most, and one of one line with one reader."""
    package = tmp_path / "yard"
    package.mkdir()
    texts = {"hive": "import yard.super", "super": "def lift():\n    import yard.hive", "field": "\n" * 5}
    for name, text in texts.items():
        (package / f"{name}.py").write_text(text, encoding="utf-8")
    taken = imports(modules(package))
    assert list(circles(taken)) == ["yard.hive imports itself by way of yard.super", "yard.super imports itself by way of yard.hive"]
    found = list(sizes(package, taken, most=4, least=2))
    assert found == ["yard.field has 5 lines", "yard.hive has 1 lines and one reader"]


def test_only_the_command_line_imports_late() -> None:
    """In the whole program: what a module needs is read at its head."""
    assert list(late(modules(ROOT / "scheduler"), ("scheduler.cli", "scheduler.__main__"))) == []


def test_a_late_import_is_noticed(tmp_path: Path) -> None:
    """In a method, but not at the head of a module nor on the command line."""
    package = tmp_path / "yard"
    package.mkdir()
    inside = "class Super:\n    def lift(self):\n        from yard.hive import Frame"
    for name, text in {"hive": "class Frame: ...", "super": inside, "field": "import yard.hive", "cli": inside}.items():
        (package / f"{name}.py").write_text(text, encoding="utf-8")
    assert list(late(modules(package), ("yard.cli",))) == ["yard.super imports yard.hive late"]


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
