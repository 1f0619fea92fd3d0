"""Amounts in words: "$filling per jar each chunk jar", "smaller of beetle time left and $warming look", each as the tree of what it says."""

from __future__ import annotations

import re
from abc import ABC, abstractmethod
from collections.abc import Collection, Container, Mapping
from typing import NamedTuple, NoReturn

from scheduler.diagnostics import Fault, instead, nearest
from scheduler.facts.harvest import FRAMES
from scheduler.quantities import parse, with_article
from scheduler.rules.expression_tree import Choice, Compared, Constant, Extreme, Name, NamedNumber, Node, Reckoned, Rounded
from scheduler.rules.expressions import ExpressionFault, dimension_of, position
from scheduler.rules.spoken_names import ESTIMATES, NOUNS, ONE_OF, OWNED, TEMPERATURE, WORD, longest

NEAR = 0.7  # how like a known one words are, to be offered; assumed
DEEPEST = 20  # brackets in each other, and amounts in each other
Parameters = Mapping[str, str | None]  # their names, each with its dimension where that is known
_DIFFERENCE = "temperature difference"
TEMPERATURES = (TEMPERATURE, _DIFFERENCE)
_KEYWORDS = ("each", "plus", "less", "divided", "of", "if", "and", "or", "at", "with", "to", "from", "fits", "is", "are", "was", "were", "otherwise")
_IN_WORD = re.compile(r"\w")
_STOP = re.compile(rf"\s+(?:{'|'.join(_KEYWORDS)})\b|\s*[,()]|\s*$")


class Said(NamedTuple):
    """A part of a text: what it says, and what it measures where that is known."""

    tree: Node
    measures: str | None


def near(words: str, known: Collection[str]) -> str:
    """What is written nearly so, in quotes, the nearest first."""
    from difflib import get_close_matches  # only what is refused needs it

    return ", ".join(f'"{one}"' for one in get_close_matches(words, known, n=3, cutoff=NEAR))


class UnknownAmount(ExpressionFault):
    """Nothing is called so, in words where an amount stands."""


class AmountReader(ABC):
    """A text read from left to right, its amounts here; `at` is the place of what comes next."""

    def __init__(self, text: str, parameters: Parameters) -> None:
        self.line, self.parameters = text, parameters
        self.at = self.depth = 0
        self.hints = True  # whether what is refused says what is written nearly so, which takes long
        self.subject: Said | None = None  # what "it" stands for

    @abstractmethod
    def condition(self) -> Said:
        """What has to be so. Raises `ExpressionFault`."""

    def take(self, pattern: str | re.Pattern[str]) -> re.Match[str] | None:
        """What matches here, after spaces, and is passed over then."""
        start = re.compile(r"\s*").match(self.line, self.at)
        at = start.end() if start else self.at
        found = re.compile(pattern).match(self.line, at)
        if found:
            self.at = found.end()
        return found

    def name(self, table: Container[str]) -> str | None:
        """The longest name of a table that stands here, passed over then."""
        found = longest(table, self.line, self.at)
        if found:
            self.at = found[1]
        return found[0] if found else None

    def word(self, *words: str) -> str | None:
        """One of several words, where it stands here."""
        found = self.take(rf"(?:{'|'.join(words)})(?!\w)")
        return found[0] if found else None

    def here(self) -> int:
        """The place of the first sign that is still to be read."""
        return self.at + len(self.line[self.at :]) - len(self.line[self.at :].lstrip())

    def rest(self) -> str:
        """What is still to be read, as much of it as a message shows."""
        return self.line[self.at :].strip()[:60]

    def wrong(self, message: str, write: str, at: int | None = None) -> NoReturn:
        """Refuse the text at a place, where it is read now unless another is named."""
        raise ExpressionFault(self.line, *self.place(self.at if at is None else at), message, write)

    def place(self, at: int) -> tuple[int, int]:
        """Line and column of the first sign from a place on that is no space."""
        return position(self.line, at + len(self.line[at:]) - len(self.line[at:].lstrip()))

    def deeper(self) -> None:
        """One amount more inside another."""
        self.depth += 1
        if self.depth > DEEPEST:
            self.wrong(f"more than {DEEPEST} amounts in each other", "a parameter for part of it, or two cards")

    def amount(self) -> Said:
        """An amount, or the first of several that holds: "A if C, B if D, otherwise E"."""
        self.deeper()
        found = self.sum()
        choices: list[tuple[Said, Said]] = []
        begun = self.at
        while self.word("if"):
            choices.append((self.condition(), found))
            if self.take(r",") is None:
                self.wrong("nothing says what it is otherwise", f'"{self.line.strip()[:60]}, otherwise $NAME"')
            last = self.word("otherwise")
            begun = self.at
            found = self.sum()
            self.alike(choices[-1][1], found, begun, "stand in one list")
            if last:
                break
        else:
            if choices:
                self.wrong("the last of a list holds where none of the others does", 'the word "otherwise" before it', begun)
        self.depth -= 1
        for so, one in reversed(choices):
            found = Said(Choice(so.tree, one.tree, found.tree, one.tree.at), one.measures or found.measures)
        return found

    def sum(self) -> Said:
        """Amounts added, or taken from one another."""
        found = self.term()
        while sign := self.word("plus", "less"):
            begun = self.at
            other = self.term()
            measures = self.alike(found, other, begun, "are added" if sign == "plus" else "are taken from one another")
            if found.measures == TEMPERATURE:
                measures = _DIFFERENCE if sign == "less" and other.measures == TEMPERATURE else TEMPERATURE
            found = Said(Reckoned("+" if sign == "plus" else "-", found.tree, other.tree, found.tree.at), measures)
        return found

    def term(self) -> Said:
        """The smaller or the larger of two, so much for each, a share of something, or one amount."""
        self.deeper()
        at = self.here()
        if size := self.word(r"smaller\s+of", r"larger\s+of"):
            one = self.sum()
            if self.word("and") is None:
                self.wrong(f'"{size}" is of two amounts', f'"{size} $one and $other"')
            begun = self.at
            other = self.sum()
            measures = self.alike(one, other, begun, "are compared")
            found = Said(Extreme("<" if size[0] == "s" else ">", one.tree, other.tree, at), measures)
        else:
            found = self.one()
        found = self.counted(found)
        while self.word(r"divided\s+by"):
            other = self.one()
            found = Said(Reckoned("/", found.tree, other.tree, found.tree.at), None)
        self.depth -= 1
        return found

    def counted(self, found: Said) -> Said:
        """An amount for each of what is counted, or a share of one."""
        while each := self.word("each", "of"):
            found = self.each(found) if each == "each" else self.share(found)
        return found

    def each(self, amount: Said) -> Said:
        """So much for each of what is counted."""
        counted = self.name(ONE_OF)
        if counted is None:
            self.wrong(f'"{self.rest()}" is nothing that is counted', instead(self.rest(), ONE_OF))
        at = amount.tree.at
        found: Node = Reckoned("*", amount.tree, ONE_OF[counted]._replace(at=at), at)
        if self.word(r"of\s+the\s+batch's\s+pieces"):
            found = Reckoned("/", Reckoned("*", found, ONE_OF["one in the batch"]._replace(at=at), at), ONE_OF["piece"]._replace(at=at), at)
        return Said(found, amount.measures)

    def share(self, share: Said) -> Said:
        """A part of an amount."""
        if share.measures not in (None, "share", "count"):
            self.wrong(f'{with_article(share.measures)} "of" something', '"50 % of $rest", or "$NAME each jar"')
        if longest(OWNED, self.line, self.at) is None:
            self.word("the")
        amount = self.counted(self.one())
        return Said(Reckoned("*", share.tree, amount.tree, share.tree.at), amount.measures)

    def one(self) -> Said:
        """One amount that is not reckoned."""
        begun, at = self.at, self.here()
        if self.take(r"\("):
            found = self.amount()
            self.closed(begun)
            return found
        if self.take(r"\$"):
            return self.named(self.parameter())
        if self.word(r"how\s+often"):
            return self.how_often(begun)
        if self.word(r"by\s+frame"):
            return self.by_frame()
        if self.take(r"(?=[-+−]?[\d.])"):
            return self.quantity()
        if self.word("it"):
            return self.subject or self.wrong('"it" stands for nothing named before', '"the lot\'s moisture"', begun)
        if owned := self.name(OWNED):
            return self.named(self.owned(owned, at))
        if noun := self.name(NOUNS):
            return self.named(Said(NOUNS[noun]._replace(at=at), "count"))
        self.word("the")
        if estimate := self.name(ESTIMATES):
            return self.estimate(estimate)
        word = self.until_stop()
        if word in self.parameters:
            self.wrong(f'"{word}" is a parameter, and stands here as a word', f'"${word}"', begun)
        self.unknown(begun)

    @staticmethod
    def owned(name: str, at: int) -> Said:
        """What something has, such as the lot's moisture."""
        found = OWNED[name]._replace(at=at)
        return Said(found, found.measures if isinstance(found, Name) else WORD)

    def unknown(self, begun: int) -> NoReturn:
        """Refuse what names no amount."""
        words = " ".join(self.line[begun : self.at].split()) or self.rest()
        told = f'no amount is called "{words}"' if words else "an amount is missing"
        write = (self.hints and near(words, [*OWNED, *NOUNS, *ESTIMATES])) or '"12 h", "$NAME", "jars" or "the lot\'s moisture"'
        raise UnknownAmount(self.line, *self.place(begun), told, write)

    def named(self, found: Said) -> Said:
        """An amount by its name: "it" from here on."""
        self.subject = found
        return found

    def closed(self, begun: int) -> None:
        """The bracket that was opened where it began is closed here."""
        if self.take(r"\)") is None:
            self.wrong('a "(" stands without its ")"', 'the ")" where it ends', begun)

    def until_stop(self) -> str:
        """The words up to the next that means something here."""
        end = _STOP.search(self.line, self.at)
        found = self.line[self.at : end.start() if end else None].strip()
        self.at = end.start() if end else len(self.line)
        return " ".join(found.split())

    def parameter(self) -> Said:
        """The parameter here; of names that begin alike the longest."""
        begun = self.at
        fits = [name for name in self.parameters if self.line.startswith(name, begun) and not _IN_WORD.match(self.line, begun + len(name))]
        if not fits:
            name = self.until_stop()
            meant = nearest(name, self.parameters)
            self.wrong(f'no parameter is named "{name}"', f'"{meant}"' if meant else instead(name, self.parameters), begun - 1)
        name = max(fits, key=len)
        self.at = begun + len(name)
        return Said(NamedNumber(name, self.parameters[name], begun - 1), self.parameters[name])

    def quantity(self) -> Said:
        """A number with its unit, as a person writes it."""
        begun, at = self.at, self.here()
        text = self.until_stop()
        try:
            measures = dimension_of(text)
        except Fault as fault:
            self.wrong(fault.message, fault.write, begun)
        return Said(Constant(parse(text, measures), measures, at), measures)

    def how_often(self, begun: int) -> Said:
        """How often one amount fits into another, a whole number."""
        one = self.one()
        if self.word(r"fits\s+into") is None:
            self.wrong('"how often" is of two amounts', '"how often $interval fits into $season"', begun)
        at = self.at
        other = self.one()
        self.alike(one, other, at, "are compared")
        return Said(Rounded(Reckoned("/", other.tree, one.tree, other.tree.at), one.tree.at), "count")

    def by_frame(self) -> Said:
        """A table: an amount for each size of frame."""
        begun = self.at
        found: dict[str, Said] = {}
        at: dict[str, int] = {}
        opened = self.take(r"\(")
        while frame := self.word(*FRAMES):
            at[frame] = self.here()
            found[frame] = self.sum()
            if self.take(r",") is None:
                break
        if opened is None or (missing := [frame for frame in FRAMES if frame not in found]):
            told = f"nothing is said of {' and '.join(missing)} frames" if opened else "a table stands in brackets"
            self.wrong(told, f'"by frame ({", ".join(f"{frame} $NAME" for frame in FRAMES)})"', begun)
        self.closed(begun)
        *others, last = FRAMES
        for frame in FRAMES[1:]:
            self.alike(found[FRAMES[0]], found[frame], at[frame], "stand in one table")
        tree = found[last].tree
        for frame in reversed(others):
            so = Compared("==", Name("lot", "frame", WORD, begun), Constant(frame, WORD, begun), begun)
            tree = Choice(so, found[frame].tree, tree, begun)
        return Said(tree, found[last].measures)

    def estimate(self, name: str) -> Said:
        """An estimate of the card's lot, batch and freezer, with what is said of its places: "at", "with", "to", "from", "of"."""
        slots = ESTIMATES[name].slots
        begun = self.at
        said: dict[str, Node] = {}
        while slots and (slot := self.word(*(one for one in slots if one not in said), "(?!)")):
            at = self.at
            amount = self.one()
            if amount.measures not in (None, slots[slot].measures):
                self.wrong(
                    f'"{slot}" has {with_article(amount.measures)} after it; {with_article(slots[slot].measures)} is needed', f'"{name} {slot} $NAME"', at
                )
            said[slot] = amount.tree
        if missing := [slot for slot, one in slots.items() if slot not in said and one.otherwise is None]:
            self.wrong(f'"{name}" does not say {" and ".join(missing)} what', f'"{name} {" ".join(f"{slot} $NAME" for slot in missing)}"', begun - len(name))
        return Said(ESTIMATES[name].called(said, begun - len(name)), "duration")

    def alike(self, one: Said, other: Said, begun: int, done: str) -> str | None:
        """What two amounts measure that are added or compared; refused where they are of two kinds."""
        pair = one.measures, other.measures
        if None not in pair and pair[0] != pair[1] and {*pair} != {TEMPERATURE, _DIFFERENCE}:
            self.wrong(f"{with_article(str(pair[0]))} and {with_article(str(pair[1]))} {done}", f"two of a kind, such as another {pair[0]}", begun)
        return pair[0] or pair[1]
