"""Kinds of product that rule sets bring, such as soft set honey: what each is like, and which of that kind's work is otherwise."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import suppress
from typing import NamedTuple

from scheduler.diagnostics import Fault
from scheduler.facts.harvest import Product
from scheduler.rules.schema import Brought, Card


class Products(NamedTuple):
    """The products in force by the name that a harvest file uses, and the cards that are not for them or stand in for others."""

    known: Mapping[str, Product] = {}
    stands_in: Mapping[str, Mapping[str, str]] = {}  # product -> key of a card for the kind it is like -> key of the card in its place, or ""

    @classmethod
    def of(cls, brought: Mapping[str, Mapping[str, Brought]], resolve: Callable[[str, str], str]) -> Products:
        """Those that sets bring, by set and name; a card that there is not is told where rules are checked."""
        known: dict[str, Product] = {}
        stands_in: dict[str, dict[str, str]] = {}
        for of, kinds in brought.items():
            for name, kind in kinds.items():
                known[name] = Product(kind.like, kind.usual)
                places = {**dict.fromkeys(kind.without, ""), **kind.instead}
                stands_in[name] = {}
                for card, own in places.items():
                    with suppress(Fault):
                        key = resolve(of, card)
                        stands_in[name][key] = ""
                        stands_in[name][key] = resolve(of, own) if own else ""
        return cls(known, stands_in)

    def is_for(self, card: Card, key: str, kind: str, product: str) -> bool:
        """Whether a card is about a lot of a kind: by its product, or by its kind where the product's work is not otherwise."""
        return product in card.for_ or (kind in card.for_ and key not in self.stands_in.get(product, {}))

    def in_place_of(self, key: str, product: str) -> str:
        """The key of the card that is done of a product where that of `key` is done of others; `key` itself where nothing is otherwise."""
        return self.stands_in.get(product, {}).get(key) or key

    def also_first(self, key: str) -> list[str]:
        """Keys of the cards that stand in for one for some product."""
        return [own for cards in self.stands_in.values() if (own := cards.get(key))]
