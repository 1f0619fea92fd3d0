"""The words in which a card says amounts and conditions: "$filling per jar each chunk jar", "there are packages".

One grammar for all of them, typed by dimension; rulesets/README.md lists its forms. What it reads is a tree (`scheduler.rules.expression_tree`).
"""

from __future__ import annotations

import re
from contextlib import suppress
from functools import lru_cache
from typing import Final

from scheduler.diagnostics import instead
from scheduler.quantities import with_article
from scheduler.rules.amount_words import AmountReader, Parameters, Said, UnknownAmount, near
from scheduler.rules.expression_tree import Compared, Constant, Denied, IsKnown, Joined, Name
from scheduler.rules.expressions import ExpressionFault
from scheduler.rules.spoken_names import FERMENTATION, NOUNS, SENTENCES, WORD, YES_NO
from scheduler.rules.vocabulary import NAMES

_COMPARISONS: Final = {r"at\s+least": ">=", r"at\s+most": "<=", r"more\s+than|warmer\s+than": ">", r"less\s+than|colder\s+than": "<"}
_BEYOND: Final = {r"or\s+(?:warmer|more|longer)": ">=", r"or\s+(?:colder|less|shorter)": "<="}


def read_words(text: str, parameters: Parameters, asks: str = "") -> Said:
    """A text in words; `asks` is "condition" or "amount" where only one of them will do.

    Raises `ExpressionFault` with the place in the text.
    """
    return _read_words(text, tuple(parameters.items()), asks)


@lru_cache(maxsize=8192)
def _read_words(text: str, named: tuple[tuple[str, str | None], ...], asks: str) -> Said:
    parameters = dict(named)
    if asks == "condition":
        return _Reader(text, parameters).whole(condition=True)
    if asks == "amount":
        return _Reader(text, parameters).whole(condition=False)
    with suppress(ExpressionFault):
        tried = _Reader(text, parameters)
        tried.hints = False
        return tried.whole(condition=False)
    return _Reader(text, parameters).whole(condition=True)


class _Reader(AmountReader):
    """A text of amounts and of what has to be so."""

    def whole(self, *, condition: bool) -> Said:
        """The whole text as one condition or one amount."""
        found = self.condition() if condition else self.amount()
        if self.take(r"$") is None:
            self.wrong(f'"{self.rest()}" stands after what could be read', "one of the forms in rulesets/README.md")
        return found

    def condition(self) -> Said:
        """What has to be so: all of several, or one of them."""
        self.deeper()
        found, joined = self.so(), None
        while True:
            begun = self.at
            if (joint := self.word("and", "or")) is None:
                break
            if joined and joint != joined:
                self.wrong('"and" and "or" side by side may be read in two ways', "brackets round what belongs together", begun)
            joined = joint
            found = Said(Joined(joint, found.tree, self.so().tree, found.tree.at), YES_NO)
        self.depth -= 1
        return found

    def so(self) -> Said:
        """One condition."""
        begun, at = self.at, self.here()
        if sentence := self.name(SENTENCES):
            asked, denied = SENTENCES[sentence]
            return Said(Denied(asked._replace(at=at), at) if denied else asked._replace(at=at), YES_NO)
        if there := self.word(r"there\s+are\s+no", r"there\s+are"):
            noun = self.name(NOUNS)
            if noun is None:
                self.wrong(f'"{self.rest()}" is nothing that is counted', instead(self.rest(), NOUNS))
            return Said(Compared("==" if there.endswith("no") else ">", NOUNS[noun]._replace(at=at), Constant(0.0, "count", at), at), YES_NO)
        if self.take(r"\("):
            depth = self.depth
            try:
                found = self.condition()
                self.closed(begun)
                return found
            except ExpressionFault as fault:
                if not self.is_amount(begun):  # "(the larger of ... and ...) is more than ..."
                    raise fault from None
                self.depth = depth
        left = self.sum_or_sentence(begun)
        if self.word("is", "are", "was", "were") is None:
            self.wrong("nothing says what is so of it", f'"{self.line[begun : self.at].strip()} is at least $NAME", or "is known"')
        return self.predicate(left)

    def is_amount(self, begun: int) -> bool:
        """Whether an amount in brackets stands there, and something is said of it; the reader goes back to where it began."""
        self.at = begun
        with suppress(ExpressionFault):
            self.one()
            return self.word("is", "are", "was", "were") is not None and self.back(begun)
        return False

    def back(self, begun: int) -> bool:
        self.at = begun
        return True

    def sum_or_sentence(self, begun: int) -> Said:
        hints, self.hints = self.hints, False
        try:
            return self.sum()
        except ExpressionFault as fault:
            no_amount = isinstance(fault, UnknownAmount) and (fault.line, fault.column) == self.place(begun)
        finally:
            self.hints = hints
        self.at = begun
        if not no_amount:
            return self.sum()  # which says it again, with what is written nearly so
        end = re.compile(r"\s+(?:and|or)\b|[,()]|$").search(self.line, begun + 1)
        words = self.line[begun : end.start() if end else None].strip()
        known = [*SENTENCES, *(f"there are {noun}" for noun in NOUNS)]
        sample = '"there are packages", "beetle was seen" or "the room\'s temperature is at least $NAME"'
        self.wrong(f'"{words}" is no condition', ", ".join(one for one in (near(words, known) if self.hints else "", sample) if one), begun)

    def predicate(self, left: Said) -> Said:
        """What is said of an amount; "it" is that amount from there on."""
        found = self.said_of(left)
        self.subject = left
        return found

    def said_of(self, left: Said) -> Said:
        denied, at = self.word("not") is not None, left.tree.at
        if self.word("so"):
            return Said(Denied(left.tree, at) if denied else left.tree, YES_NO)
        if self.word("known"):
            known = IsKnown(left.tree, at)
            return Said(Denied(known, at) if denied else known, YES_NO)
        if self.word("said"):
            return Said(Compared("==" if denied else "!=", left.tree, Constant("", WORD, at), at), YES_NO)
        if left.measures == WORD:
            return self.word_is(left, denied=denied)
        begun = self.at
        sign = next((sign for words, sign in _COMPARISONS.items() if self.word(words)), None)
        if sign is None and not denied and (beyond := self.or_beyond()):
            other, sign = beyond
            self.alike(left, other, begun, "are compared")
            return Said(Compared(sign, left.tree, other.tree, at), YES_NO)
        if sign is None or denied:
            self.wrong(
                f'"{self.rest()}" says nothing of {with_article(left.measures or "number")}',
                '"at least", "at most", "more than" or "less than", and an amount',
                begun,
            )
        begun = self.at
        other = self.sum()
        self.alike(left, other, begun, "are compared")
        return Said(Compared(sign, left.tree, other.tree, at), YES_NO)

    def or_beyond(self) -> tuple[Said, str] | None:
        """An amount and all beyond it, "25 °C or warmer", with the sign for that; None, and nothing passed over, where no such thing stands here."""
        begun, hints, self.hints = self.at, self.hints, False
        with suppress(ExpressionFault):
            other = self.sum()
            if sign := next((sign for words, sign in _BEYOND.items() if self.word(words)), None):
                self.hints = hints
                return other, sign
        self.at, self.hints = begun, hints
        return None

    def word_is(self, left: Said, *, denied: bool) -> Said:
        begun = self.at
        end = re.compile(r"\s+(?:and|or)\b|\s*[,()]|\s*$").search(self.line, begun)
        word = self.line[begun : end.start() if end else None].strip()
        self.at = end.start() if end else len(self.line)
        known = [one for one in NAMES[left.tree.of][left.tree.field].words if one] if isinstance(left.tree, Name) else [*FERMENTATION]
        if not word or (known and word not in known):
            self.wrong(f'it is never "{word}"', instead(word, known), begun)
        return Said(Compared("!=" if denied else "==", left.tree, Constant(word, WORD, begun), left.tree.at), YES_NO)
