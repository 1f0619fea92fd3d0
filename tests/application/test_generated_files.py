"""Whatever stands in a file that a person writes, it is read or refused in words: no fault, none over a second, none over 200 MiB.

The files are bundled and example files damaged at random, in their text and in their tree, and free ones of the same keys. Their seed is this run's.
"""

from __future__ import annotations

import resource
import time
from collections.abc import Callable
from pathlib import Path
from random import Random
from typing import Any

import pytest
import yaml

from scheduler.application.file_keys import KEYS
from scheduler.diagnostics import Refused
from scheduler.documents import read
from scheduler.facts.harvest import read_harvest
from scheduler.facts.yard import read_yard
from scheduler.outputs.notify.config import read_config
from scheduler.rules.layers import checked
from scheduler.rules.load import bundled, check, load
from tests.chance import LONG, random_of, times
from tests.planning.whole import yard

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
CHANNELS = b"channels:\n  phone: {address from: HONEY_PHONE}\npeople:\n  keeper: {tell: {crop: [phone], comfort: [phone]}, morning summary: '07:00'}\n"
ODD: tuple[Any, ...] = (
    None, True, False, 0, -1, 7, 10**30, -0.0, 1e308, float("inf"), float("nan"), "", " ", "no", "12", "12 h", "-3 d", "1e400 h", "9" * 400, "18 %",
    "70 °F", "10 L", "every 7 d, until first frost", "every 0 s, 9999999 times", "within 2 h", "3 d after the pull", "2026-08-11T10:30", "9999-12-31",
    "0000-00-00", "$", "$drain floor", "param.x", "lot.moisture > ", "lot.pieces ? 1 : 2", "((((((((", "{lot.id", "{{}}", "{duration: 1}", "on mon-sun",
    "a/b", "../x", "\u202e", "é" * 90, "x" * 5000, "a\nb", [], [[]], {}, [None], ["cut"] * 40, {"a": {"b": {"c": {}}}}, {"": ""},
    {"at least": "1 h", "within": "0 h"}, "1 " * 300,
)  # fmt: skip
SIGNS = "{}[]:,#&*!|>'\"%@`-? \n\t\\0aZé\u2028\x00"
MOST_SECONDS, MOST_BYTES = 1.0, 200 << 20


def _read_rules(content: bytes) -> object:
    return checked(read(content, "mine.yaml", "rules"))


YARD, PRODUCTS = yard(), load().products.known
READERS: dict[str, tuple[Callable[[bytes], object], list[bytes], tuple[str, ...]]] = {
    "rules": (_read_rules, [file.read_bytes() for file in bundled().iterdir() if file.name.endswith(".yaml")], ("RuleSet", "Card", "Stop", "Brought")),
    "yard": (lambda content: read_yard(content, "yard.yaml"), [file.read_bytes() for file in EXAMPLES.rglob("yard.yaml")], ("Yard", "Equipment", "Person")),
    "harvest": (
        lambda content: read_harvest(content, "h.yaml", YARD, products=PRODUCTS),
        [file.read_bytes() for file in EXAMPLES.rglob("*.yaml") if b"\nlots:" in file.read_bytes()],
        ("Harvest", "Lot"),
    ),
    "channels": (lambda content: read_config(content, "channels.yaml"), [CHANNELS], ("NotificationConfig", "Recipient", "ServiceAddress")),
}


def generated(chance: Random, written: list[bytes], keys: list[str]) -> bytes:
    """A file: a written one with its text or its tree damaged, or a free one of known keys."""
    way = chance.random()
    if way < 0.45:
        return _torn(chance, chance.choice(written))
    tree = _free(chance, keys, 4) if way > 0.9 else yaml.load(chance.choice(written), Loader=yaml.CSafeLoader)
    for _ in range(chance.randint(1, 4)):
        _damage(chance, tree, keys)
    return yaml.dump(tree, Dumper=yaml.CSafeDumper, allow_unicode=True, sort_keys=False).encode("utf-8", "replace")


def _torn(chance: Random, content: bytes) -> bytes:
    """Lines left out, twice or elsewhere, signs among them, an end too early."""
    lines = content.decode().split("\n")
    for _ in range(chance.randint(1, 6)):
        at, other = chance.randrange(len(lines)), chance.randrange(len(lines))
        way = chance.randrange(6)
        if way == 0 and len(lines) > 1:
            del lines[at]
        elif way == 1:
            lines.insert(other, lines[at])
        elif way == 2:
            lines[at], lines[other] = lines[other], lines[at]
        elif way == 3:
            lines[at] = " " * chance.randint(0, 9) + lines[at].lstrip()
        else:
            place = chance.randint(0, len(lines[at]))
            lines[at] = lines[at][:place] + "".join(chance.choices(SIGNS, k=chance.randint(1, 4))) + lines[at][place + chance.randint(0, 3) :]
            if chance.random() < 0.02:
                lines[at] = f"{lines[at].partition(':')[0]}: {'9' * 5000}"
    text = "\n".join(lines).encode("utf-8", "replace")
    return text[: chance.randint(0, len(text))] if chance.random() < 0.1 else text


def _free(chance: Random, keys: list[str], depth: int) -> Any:
    if depth == 0 or chance.random() < 0.2:
        return chance.choice(ODD)
    if chance.random() < 0.3:
        return [_free(chance, keys, depth - 1) for _ in range(chance.randint(0, 3))]
    return {chance.choice(keys): _free(chance, keys, depth - 1) for _ in range(chance.randint(1, 5))}


def _damage(chance: Random, tree: Any, keys: list[str]) -> None:
    """One value, key or item somewhere in a tree is another, is gone, or is there again."""
    while isinstance(tree, dict | list) and tree:
        place = chance.choice([*tree]) if isinstance(tree, dict) else chance.randrange(len(tree))
        below = tree[place]
        if isinstance(below, dict | list) and below and chance.random() < 0.85:
            tree = below
            continue
        way = chance.randrange(4)
        if way == 0:
            del tree[place]
        elif way == 1 and isinstance(tree, dict):
            tree[chance.choice(keys)] = below
        else:
            tree[place] = chance.choice(ODD)
        return


def tried(kind: str, count: int, reads: Callable[[bytes], object]) -> int:
    """How many of so many files were refused in words; each within its second and, all together, their room."""
    chance, before = random_of(f"files {kind} {count}"), resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    _, written, of = READERS[kind]
    keys = [key for name in of for key in KEYS[name]]
    refused = 0
    for number in range(count):
        content = generated(chance, written, keys)
        began = time.process_time()
        try:
            reads(content)
        except Refused as told:
            refused += all(one.message and one.path for one in told.diagnostics)
        except Exception as error:
            raise AssertionError(f"{kind} file {number} is neither read nor refused: {error!r}\n{content!r}") from error
        if LONG:
            assert time.process_time() - began < MOST_SECONDS, content
    assert (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) * 1024 < MOST_BYTES
    return refused


@pytest.mark.slow
@pytest.mark.parametrize(("kind", "full"), [("rules", 22_000), ("yard", 26_000), ("harvest", 26_000), ("channels", 22_000)])
def test_a_file_is_read_or_refused_in_words(kind: str, full: int) -> None:
    """96,000 files in a long run; most are wrong, some are not."""
    count = times(full)
    assert 0.3 * count < tried(kind, count, READERS[kind][0]) < count


@pytest.mark.slow
def test_rule_files_are_checked_beside_the_others_or_refused_in_words(tmp_path: Path) -> None:
    """4,000 more in a long run, laid over the bundled sets and checked as `rules check` does it."""

    def checks(content: bytes) -> object:
        (tmp_path / "mine.yaml").write_bytes(content.replace(b"ruleset: ", b"ruleset: my ", 1))
        return check(["mine.yaml"], beside=tmp_path)

    assert tried("rules", 4_000 if LONG else 40, checks) == 0  # what is found is given back
