"""Lots that met in one vessel: from then on one new lot, with all that holds of its parents."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from scheduler.estimates.moisture import mixed
from scheduler.facts.harvest import BLENDED, Harvest, Lot, lot_path
from scheduler.planning.draft import Want

if TYPE_CHECKING:
    from scheduler.facts.fact import LotsMet

APART = 1000  # between the numbers of wants that came with one parent and with the next
AILING = ("foulbrood", "slime", "other")  # the worst first


def with_blends(harvests: Sequence[Harvest], trade: Mapping[str, Any], met: Iterable[LotsMet] = ()) -> tuple[tuple[Harvest, ...], dict[str, tuple[str, ...]]]:
    """The harvests with the lots that are made of others, by what the files say and by what was recorded; and the parents of each such lot, all by path.

    How much honey their frames hold is a number of the `trade`.
    """
    lots = {lot_path(harvest.harvest, lot.id): lot for harvest in harvests for lot in harvest.lots}
    parents: dict[str, tuple[str, ...]] = {}
    added: dict[str, list[Lot]] = {}
    for made, of in (*_in_files(harvests), *((one.lot, one.of) for one in met)):
        known = tuple(path for path in of if path in lots)
        harvest, _, name = made.partition("/")
        if known and made not in lots:
            lots[made] = blend(name, [lots[path] for path in known], trade)
            parents[made] = known
            added.setdefault(harvest, []).append(lots[made])
    found = tuple(one.model_copy(update={"lots": (*one.lots, *added[one.harvest])}) if one.harvest in added else one for one in harvests)
    return found, parents


def _in_files(harvests: Sequence[Harvest]) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Each lot that harvest files have made of others, and of which."""
    for harvest in harvests:
        for lot in harvest.lots:
            if lot.settles_with:
                names = (lot.id, *lot.settles_with)
                yield lot_path(harvest.harvest, "-".join(names)), tuple(lot_path(harvest.harvest, name) for name in names)


def passed_on(wants: Iterable[Want], parents: Mapping[str, Sequence[str]]) -> tuple[Want, ...]:
    """Wants of jars of lots that met are of the lot they went into, each still under a number of its own."""
    into = {path: (made, place) for made, of in parents.items() for place, path in enumerate(of, 1)}
    found = []
    for want in wants:
        while want.what == "jars" and want.lot in into:
            made, place = into[want.lot]
            want = want._replace(lot=made, number=want.number + place * APART)
        found.append(want)
    return tuple(found)


def frame_honey(frame: str, trade: Mapping[str, Any]) -> float:
    """The honey [kg] of one full frame."""
    return float(trade[f"honey_of_a_{frame}_frame"])


def blend(name: str, lots: Sequence[Lot], trade: Mapping[str, Any]) -> Lot:
    """One lot of several: the mass of honey and of its water is kept; whatever was wrong with one is wrong with it."""
    masses = [lot.frames * frame_honey(lot.frame, trade) for lot in lots]
    shares = [lot.moisture for lot in lots]
    known = [share for share in shares if share is not None]
    first = lots[0]
    return first.model_copy(
        update={
            "id": name,
            "kind": BLENDED,
            "frames": max(1, round(sum(masses) / frame_honey(first.frame, trade))),
            "boxes": None,
            "moisture": mixed(masses, known) if len(known) == len(shares) else None,
            "yeast": None,
            "comb_temperature": None,
            "disease": next((ailment for ailment in AILING if any(lot.disease == ailment for lot in lots)), None),
            "treated": any(lot.treated for lot in lots),
            "beetle": any(lot.beetle for lot in lots),
            "heather": all(lot.heather for lot in lots),  # else the limit of other honey holds, which is the safe end
            "settles_with": (),
            "buckets": next((lot.buckets for lot in lots if lot.buckets is not None), None),
            "sets_soon": any(lot.sets_soon for lot in lots),
        }
    )
