"""Packs: folders of rule files with who made them, for what region and from what sources; named by their path, or installed as a Python package.

A pack is data. Nothing in it is imported or run, whatever else lies in its folder.
"""

from __future__ import annotations

import importlib.util
from collections.abc import Iterable, Iterator, Sequence
from hashlib import sha256
from pathlib import Path
from typing import NamedTuple

from scheduler import __version__
from scheduler.application.files import read_bytes
from scheduler.diagnostics import Diagnostic, Refused
from scheduler.documents import Document, Record, read, record
from scheduler.facts.values import Name, Names, Text
from scheduler.rules.load import bundled, is_bundled, load
from scheduler.rules.rule_set import Rules

ABOUT, README = "pack.yaml", "README.md"
ENTRY_POINTS = "afterpull.packs"  # the group in which an installed package names the folder of its pack
RULE_FILE = (".yaml", ".yml")


class About(Record):
    """What a pack says of itself, in its `pack.yaml`."""

    pack: Name
    version: Name
    author: Text
    licence: Name
    region: Text
    describes: Text
    sources: Names


class Pack(NamedTuple):
    """A pack with its folder; its rule files are all other YAML files there, in the order of their names."""

    about: About
    document: Document
    folder: Path

    @property
    def rule_files(self) -> list[Path]:
        """Its rule files."""
        return sorted(one for one in self.folder.iterdir() if one.suffix in RULE_FILE and one.name != ABOUT)


class MadeBy(NamedTuple):
    """What a plan was made by: a pack, its version, and the SHA-256 of its files one after the other, each after its name."""

    pack: str
    version: str
    sha256: str


def unpacked(names: Iterable[str], beside: str | Path = ".") -> list[str]:
    """The names of rule sets and files with each pack replaced by its rule files. Raises `Refused` for a pack that is not whole."""
    found: list[str] = []
    for name in names:
        pack = pack_of(name, beside)
        found += [str(file) for file in pack.rule_files] if pack else [name]
    return found


def pack_of(name: str, beside: str | Path = ".") -> Pack | None:
    """The pack of a name: a folder, from that of the yard file on, or what an installed package calls so; None where it is none."""
    if name.endswith(RULE_FILE) or is_bundled(name):
        return None
    folder = Path(beside) / name
    if not folder.is_dir():
        installed = _installed(name)
        if installed is None:
            return None
        folder = installed
    file = folder / ABOUT
    if not file.is_file():
        raise Refused([Diagnostic(str(folder), 0, 0, f"the folder of a pack has no {ABOUT}", "pack, version, author, licence, region, describes and sources")])
    document = read(read_bytes(file), str(file))
    pack = Pack(record(document, About), document, folder.resolve())
    if not pack.rule_files:
        raise Refused([document.fault((), "the pack has no rule file", f"a rule file (.yaml) beside {ABOUT}")])
    return pack


def _installed(name: str) -> Path | None:
    """The folder that an installed package names for a pack, found without importing the package."""
    from importlib.metadata import entry_points  # reads mail headers, for which no plan without packs waits

    for point in entry_points(group=ENTRY_POINTS, name=name):
        top, *rest = point.module.split(".")
        spec = importlib.util.find_spec(top)
        for place in spec.submodule_search_locations or () if spec else ():
            if (folder := Path(place).joinpath(*rest)).is_dir():
                return folder
    return None


def made_by(names: Iterable[str], beside: str | Path = ".") -> list[MadeBy]:
    """What the rules of a yard come from: what is bundled, then each pack in its turn."""
    files = sorted((one for one in bundled().iterdir() if one.name.endswith(".yaml")), key=lambda one: one.name)
    found = [MadeBy("bundled", __version__, _digest((one.name, one.read_bytes()) for one in files))]
    for pack in filter(None, (pack_of(name, beside) for name in names)):
        content = [(one.name, read_bytes(one)) for one in (pack.folder / ABOUT, *pack.rule_files)]
        found.append(MadeBy(pack.about.pack, pack.about.version, _digest(content)))
    return found


def _digest(files: Iterable[tuple[str, bytes]]) -> str:
    digest = sha256()
    for name, content in files:
        digest.update(name.encode() + b"\0" + content + b"\0")
    return digest.hexdigest()


def faults_of_pack(pack: Pack) -> list[Diagnostic]:
    """What is wrong with a pack beside what is wrong in its rule files: nobody can use what has no account, and nobody can trust what was never tried."""
    found = []
    if not (pack.folder / README).is_file():
        found.append(pack.document.fault(("pack",), f"the pack has no {README}", "a page that says what it is for, and where it was tried"))
    if not any(_has_scenarios(file) for file in pack.rule_files):
        found.append(pack.document.fault(("pack",), "no rule file of the pack has a scenario", "scenarios: in one of them; afterpull rules new shows one"))
    return found


def _has_scenarios(file: Path) -> bool:
    data = read(read_bytes(file), str(file), "rules").data
    return isinstance(data, dict) and bool(data.get("scenarios"))


def account(pack: Pack) -> Iterator[str]:
    """What a pack does to the bundled rules, in lines: who made it, what it switches off, changes and adds."""
    about = pack.about
    yield f"{about.pack} {about.version}, by {about.author}, licence {about.licence}, for {about.region}: {about.describes}"
    yield f"sources: {'; '.join(about.sources)}"
    before, after = load(), load([str(file) for file in pack.rule_files])
    yield from _section("switches off", sorted(before.by_key.keys() - after.by_key.keys()))
    yield from _section("changes", [*_numbers(before, after), *_cards(before, after)])
    added = [f"{key} (cards: {len(after.sets[key].cards)}, numbers: {len(after.sets[key].parameters)})" for key in after.sets if key not in before.sets]
    products = [f"{name}, like {product.like}" for name, product in after.products.known.items() if name not in before.products.known]
    yield from _section("adds", [*added, *products, *sorted(key for key in after.by_key.keys() - before.by_key.keys() if key.partition("/")[0] in before.sets)])


def _section(title: str, lines: Sequence[str]) -> Iterator[str]:
    yield f"{title}:" if lines else f"{title}: nothing"
    yield from (f"  {line}" for line in lines)


def _numbers(before: Rules, after: Rules) -> Iterator[str]:
    for name, parameters in after.parameters.items():
        for parameter, now in parameters.items():
            was = before.parameters.get(name, {}).get(parameter)
            if was is not None and (was.value, was.basis) != (now.value, now.basis):
                yield f"{name}/{parameter}: {was.text} ({was.basis}) is {now.text} ({now.basis})"


def _cards(before: Rules, after: Rules) -> Iterator[str]:
    for key, card in after.by_key.items():
        was = before.by_key.get(key)
        if was is not None and was.card != card.card:
            now, then = card.card.model_dump(), was.card.model_dump()
            yield f"{key}: {', '.join(name.replace('_', ' ') for name in now if now[name] != then[name])}"
