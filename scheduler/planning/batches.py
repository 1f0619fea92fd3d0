"""A load larger than the freezer or the rack is split into batches that fit it."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from scheduler.planning.draft import Draft
from scheduler.planning.holds import Resource
from scheduler.rules.amounts import amount
from scheduler.rules.environment import Environment
from scheduler.rules.rule_set import LoadedCard


def split(total: int, card: LoadedCard, env: Environment, resources: Sequence[Resource]) -> list[int]:
    """Sizes of as few batches as fit the largest resource of the kind, as even as whole units allow; all in one where nothing limits them.

    A unit that does not fit by itself stays a batch of its own: the hold refuses it in words.
    """
    if total <= 0:
        return []
    kind = card.card.batches.fits if card.card.batches else None
    most = total
    if kind and resources and kind in card.card.occupies:
        capacity = max(resource.capacity for resource in resources)
        most = max(1, min(total, largest(capacity, total, lambda count: demand(card, kind, count, env))))
    number = -(-total // most)
    size, extra = divmod(total, number)
    return [size + 1] * extra + [size] * (number - extra)


def comes_from(draft: Draft, own: Sequence[Draft], others: Sequence[Draft]) -> list[Draft]:
    """The batches of another card that a batch of this one waits for: as many as hold its share of the lot and that of the batches before it.

    What is packed first is frozen first, so the first load does not wait for the last packing. Less than one unit short is rounding. Where
    either is not split by what fits, it waits for all.
    """
    if any(one.batch is None or one.card.card.batches is None or one.subject != draft.subject for one in (draft, *others)):
        return list(others)
    firsts = [one for one in own if one.repetition is None]
    share = sum(one.count for one in firsts if (one.batch or 0) <= (draft.batch or 0)) / sum(one.count for one in firsts)
    wanted, found = share * sum(one.count for one in others) - 1.0, list[Draft]()
    for other in sorted(others, key=lambda one: one.batch or 0):
        found.append(other)
        wanted -= other.count
        if wanted < 0:
            break
    return found


def demand(card: LoadedCard, kind: str, count: int, env: Environment) -> float:
    """How much of a resource a batch of `count` units occupies (SI)."""
    return amount(card.card.occupies[kind], "any", env.child(batch=batch(env, float(count), 1))).value


def batch(env: Environment, count: float, of: int) -> dict[str, float]:
    """The facts of a batch for expressions: how many units, of how many batches, their mass [kg] and packed volume [m³]."""
    lot = env.names.get("lot", {})
    return {"count": count, "of": float(of), "mass": count * lot.get("piece_mass", 0.0), "volume": count * lot.get("package_volume", 0.0)}


def largest(capacity: float, total: int, needed: Callable[[int], float]) -> int:
    """The largest count up to `total` whose need is within the capacity; the need grows with the count."""
    low, high = 0, total
    while low < high:
        middle = (low + high + 1) // 2
        if needed(middle) <= capacity * (1 + 1e-9):
            low = middle
        else:
            high = middle - 1
    return low
