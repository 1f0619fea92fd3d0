"""Whether a harvest can be handled in a yard at all: a piece that fits no freezer is a slip of the pen in one of the two files."""

from __future__ import annotations

from scheduler.diagnostics import Diagnostic
from scheduler.documents import Document
from scheduler.estimates.packing import package_volume
from scheduler.facts.harvest import Harvest
from scheduler.facts.yard import Yard
from scheduler.quantities import show


def too_large(harvest: Harvest, yard: Yard, written: Document) -> list[Diagnostic]:
    """Lots of comb of which not one packed piece fits the largest freezer of the yard; the place is the freezer's in the yard file."""
    freezers = {name: one.space for name, one in yard.equipment.items() if (one.kind or name) == "freezer" and one.space is not None}
    if not freezers:
        return []
    largest = max(freezers, key=lambda name: freezers[name])
    faults = []
    for lot in harvest.lots:
        needed = package_volume(*lot.piece, lot.comb_thickness, lot.package) if lot.kind in ("cut comb", "chunk honey") else 0.0
        if needed > freezers[largest]:
            holds, takes = (show(space, "volume", yard.units) for space in (freezers[largest], needed))
            sizes = f"the {largest} holds {holds}, and one packed piece of {harvest.harvest}/{lot.id} takes {takes}"
            faults.append(
                written.fault(("equipment", largest, "space"), f"equipment > {largest} > space: {sizes}", "the space inside the freezer, such as 90 L")
            )
    return faults
