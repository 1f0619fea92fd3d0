"""Rule files from the disk to `Rules`: the bundled sets, the overlays and keeper's files that are named, and the yard's own changes.

The one module below the application that reads the disk.
"""

from __future__ import annotations

import contextlib
import importlib.resources
import os
import pickle
import sys
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from functools import lru_cache
from hashlib import blake2b
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

import pydantic

from scheduler.diagnostics import Diagnostic, Fault, Refused, instead
from scheduler.documents import LARGEST_FILE, Document, read, too_large
from scheduler.rules.amounts import kind_of
from scheduler.rules.card_check import expressions_in, marked
from scheduler.rules.findings import Finding, all_cards
from scheduler.rules.layers import Loc, changed, checked
from scheduler.rules.lint import lint
from scheduler.rules.rule_set import LoadedSet, Rules
from scheduler.rules.unlikely import checked_ahead


def bundled() -> Traversable:
    """The folder of the bundled rule files, from a wheel, an editable install and a checkout alike."""
    return importlib.resources.files("rulesets")


def is_bundled(name: str) -> bool:
    """Whether a bundled set is named so, by the name of its file: nothing is read for that."""
    return (bundled() / f"{name.replace(' ', '_')}.yaml").is_file()


def overlays() -> tuple[str, ...]:
    """Names of the bundled sets that are read only when a yard names them."""
    return tuple(one.name for one in _bundled_sets() if one.overlay)


def load(
    names: Iterable[str] = (), changes: Mapping[str, Any] | None = None, document: Document | None = None, at: Loc = ("changes",), beside: str | Path = ".",
    of_yard: Iterable[str] = (),
) -> Rules:  # fmt: skip
    """The rules in force for a yard.

    `names` are overlays ("warm humid") and paths of keeper's files, relative to the folder `beside`, laid over the bundled sets in that
    order; `changes` are the yard's own, laid on last, and `document` with `at` says where they are written; `of_yard` are the kinds of
    equipment that the yard has. Raises `Refused` with every
    fault, and `Fault` for a name that is neither a set nor a file.
    """
    layers = tuple(names)
    if not changes and (rules := _cached(layers)) is not None:
        return rules
    layering = _Layering(Path(beside))
    for name in layers:
        layering.add(name)
    if changes:
        where = document or Document("the changes of the yard", {"changes": dict(changes)}, None)
        layering.change(dict(changes), where, at)
    rules = Rules(layering.sets)
    if layering.to_check:
        rules = _linted(rules, (*of_yard,))
    if not changes and not layering.keepers:
        _cache(layers, rules)
    return rules


def _linted(rules: Rules, of_yard: Sequence[str]) -> Rules:
    """The rules with what lint says of their old ways. Raises `Refused` with all that is wrong in them."""
    found = lint(rules, of_yard)
    if wrong := [finding.diagnostic for finding in found if not finding.advice]:
        raise Refused(wrong)
    return Rules(rules.sets, tuple(finding.diagnostic for finding in found if finding.old_word))


def check(names: Sequence[str] = (), beside: str | Path = ".", today: date | None = None) -> list[Finding]:
    """Every finding in the keeper's files or overlays named, or without names in all bundled sets, each overlay laid on in turn.

    Where it is told what day it is `today`, dates that are still to come are among them. Raises `Fault` for a name that is neither a set nor a file.
    """
    found: set[Finding] = set()
    try:
        for layers in [names] if names else [(), *((overlay,) for overlay in overlays())]:
            found.update(_findings(layers, Path(beside), today))
    except Refused as refused:
        found.update(Finding(diagnostic) for diagnostic in refused.diagnostics)
    return sorted(found)


def _findings(layers: Sequence[str], folder: Path, today: date | None) -> Iterator[Finding]:
    layering = _Layering(folder)
    for name in layers:
        try:
            layering.add(name)
        except Refused as refused:
            yield from (Finding(diagnostic) for diagnostic in refused.diagnostics)
    rules = Rules(layering.sets)
    for finding in (*lint(rules), *(checked_ahead(rules, today) if today else ())):
        if not finding.advice or not layers or finding.diagnostic.path in layering.keepers:
            yield finding


class _Layering:
    """Sets gathered layer by layer; `to_check` once there is something in them that the tests have not seen."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.to_check = folder, False
        self.sets: dict[str, LoadedSet] = {one.name: one for one in _bundled_sets() if not one.overlay}
        self.seen: set[str] = set()
        self.keepers: set[str] = set()
        self.raw: dict[tuple[str, str, str], Any] = {}

    def add(self, name: str) -> None:
        """Lay one overlay or one keeper's file over what is there; again is the same as once. The path of a bundled file means its set."""
        name = self._bundled_by_path().get((self.folder / name).resolve(), name) if name.endswith(".yaml") else name
        if name in self.sets or name in self.seen:
            return
        self.seen.add(name)
        known = {one.name: one for one in _bundled_sets()}
        one = known[name] if name in known else self._keepers(name, known)
        for number, other in enumerate(one.extends):
            try:
                self.add(self._beside(name, other))
            except Fault as fault:
                raise Refused([one.document.fault(("extends", number), f"extends: {fault.message}", fault.write)]) from None
        self.sets[one.name] = one
        if one.changes:
            self._apply(one.changes, one.document, ("changes",))

    def _beside(self, name: str, other: str) -> str:
        """A file that another one names, from the folder of that; from the yard's where it lies there."""
        near = str(Path(name).parent / other) if other.endswith((".yaml", ".yml")) else other
        return near if (self.folder / near).is_file() else other

    @staticmethod
    def _bundled_by_path() -> dict[Path, str]:
        folder = Path(str(bundled())).resolve()
        return {folder / Path(one.document.path).name: one.name for one in _bundled_sets()}

    def change(self, changes: Any, document: Document, at: Loc) -> None:
        """Lay a yard's changes on. Parameters alone are checked as they are laid; changed cards need the whole check."""
        self._apply(changes, document, at)
        self.to_check = self.to_check or any(isinstance(change, dict) and change.keys() - {"parameters"} for change in changes.values())

    def _apply(self, changes: Any, document: Document, at: Loc) -> None:
        self.sets = changed(self.sets, changes, document, at, self.raw)

    def _keepers(self, name: str, known: Mapping[str, LoadedSet]) -> LoadedSet:
        if not name.endswith((".yaml", ".yml")):
            choices = instead(name, [one.name for one in known.values() if one.overlay])
            raise Fault(f'no rule set is named "{name}"', f"{choices}, or the path of a rule file (.yaml) or of a pack")
        one = checked(_read(self.folder / name))
        if one.name in known or one.name in self.sets:
            cure = 'another name; to change a bundled set write "changes:"'
            raise Refused([one.document.fault(("ruleset",), f'the name "{one.name}" is taken by another rule set', cure)])
        self.to_check = True
        self.keepers.add(one.document.path)
        return one


def _read(path: Path) -> Document:
    try:
        if path.exists() and not path.is_file() and not path.is_dir():
            raise Refused([Diagnostic(str(path), 0, 0, "cannot be read: it is a pipe or a device, of which nobody knows the length", "the path of a file")])
        if (size := path.stat().st_size) > LARGEST_FILE:
            raise too_large(str(path), size, LARGEST_FILE)
        content = path.read_bytes()
    except FileNotFoundError:
        raise Fault(f"{path}: there is no such file", "the path of a rule file, from the folder of the yard file") from None
    except OSError as error:
        raise Fault(f"{path}: cannot be read ({error.strerror})") from None
    return read(content, str(path), "rules")


def _bundled_sets() -> tuple[LoadedSet, ...]:
    """Every bundled set, parsed once in a process. Raises `Refused` with the faults of all files."""
    return _bundled_as_read()[1]


@lru_cache(maxsize=1)
def _bundled_as_read() -> tuple[tuple[Any, ...], tuple[LoadedSet, ...]]:
    """The bundled sets, and the stamp of the files before they were read: a process outlives the files that it read."""
    stamp = _stamp()
    sets: list[LoadedSet] = []
    faults: list[Diagnostic] = []
    for document in _bundled_documents():
        try:
            sets.append(checked(document, bundled=True))
        except Refused as refused:
            faults += refused.diagnostics
    if faults:
        raise Refused(faults)
    return stamp, tuple(sets)


def _bundled_documents() -> Iterator[Document]:
    for file in sorted(bundled().iterdir(), key=lambda item: item.name):
        if file.name.endswith(".yaml"):
            yield read(file.read_bytes(), f"rulesets/{file.name}")


def _cache_paths(layers: Sequence[str]) -> Iterator[Path]:
    """Where the checked form is kept: beside what it was made from, as Python does, else in the person's own cache folder; nowhere for an archive."""
    folder = bundled()
    if not isinstance(folder, Path):
        return
    yield folder / "__pycache__" / f"{_digest(layers)}.rules"
    if sys.dont_write_bytecode:
        return
    import platformdirs  # where nothing is kept beside the files; a start without it is quicker

    with contextlib.suppress(RuntimeError):  # nobody knows where the home folder is
        yield platformdirs.user_cache_path("afterpull", appauthor=False).expanduser() / f"{_digest((*layers, str(folder)))}.rules"


def _digest(words: Sequence[str]) -> str:
    return blake2b(repr(words).encode(), digest_size=8).hexdigest()


def _stamp() -> tuple[Any, ...]:
    """What the checked form of bundled rules depends on: the files, the code that reads them, and the library that holds them."""
    code = Path(__file__).parent
    read_from = [*Path(str(bundled())).glob("*.yaml"), *code.glob("*.py"), code.parent / "documents.py", code.parent / "quantities.py"]
    return (pydantic.VERSION, *sorted((str(file), (at := file.stat()).st_size, at.st_mtime_ns) for file in read_from))


def _cached(layers: Sequence[str]) -> Rules | None:
    """Bundled rules as an earlier run checked and laid them, where nothing has changed since."""
    return next((rules for place in _cache_paths(layers) if (rules := _read_cache(place)) is not None), None)


def _read_cache(place: Path) -> Rules | None:
    try:
        at = place.stat()
        return _unpacked(place, at.st_size, at.st_mtime_ns, _stamp())
    except Exception:  # a damaged file can raise anything, and is written anew
        return None


@lru_cache(maxsize=4)
def _unpacked(place: Path, size: int, changed_at: int, stamp: tuple[Any, ...]) -> Rules | None:
    """The rules in a file of that size and time [ns], where they were made of what has that stamp; a process reads them once while nothing changes."""
    with place.open("rb") as file:
        rules: Rules | None = pickle.load(file) if pickle.load(file) == stamp else None
    return rules


def _cache(layers: Sequence[str], rules: Rules) -> None:
    """Keep bundled rules for the next run, in the first place that may be written; nothing is made ready for none."""
    if sys.dont_write_bytecode:
        return
    for place in _cache_paths(layers):
        with contextlib.suppress(OSError):
            place.parent.mkdir(parents=True, exist_ok=True)
            if os.access(place.parent, os.W_OK):
                _write_cache(place, rules)
                return


def _write_cache(place: Path, rules: Rules) -> None:
    whole = Rules(rules.sets)
    _ = whole.parameters, whole.in_order, whole.cautions  # these are kept with it, and the expressions of its cards as they were read
    for one, _, card in all_cards(whole):
        for text in marked(card):
            for expression in expressions_in(text):
                if kind_of(expression, whole.values[one.name]) == "expression":
                    whole.values[one.name].read(expression)
    beside = place.with_suffix(f".{os.getpid()}")
    try:
        beside.write_bytes(pickle.dumps(_bundled_as_read()[0]) + pickle.dumps(whole))
        beside.replace(place)
    finally:
        beside.unlink(missing_ok=True)
