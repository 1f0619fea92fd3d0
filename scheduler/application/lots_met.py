"""What a keeper tells of lots that went into one vessel."""

from __future__ import annotations

from collections.abc import Sequence

from scheduler.application.ledger_view import LedgerView
from scheduler.application.lookup import any_task, lot_named, lots_of, refuse_future
from scheduler.diagnostics import Fault
from scheduler.facts.fact import Fact, LotsMet, TaskBegun
from scheduler.facts.harvest import BLENDED, lot_path
from scheduler.planning.blends import blend
from scheduler.planning.task_ids import path_of, slug_of
from scheduler.quantities import instant, percent, say

MEETING = ("extracted", BLENDED)  # products of which lots go into one vessel


def meet(view: LedgerView, text: str, others: Sequence[str], at: int, by: str | None) -> tuple[list[Fact], str]:
    """What is to be written down where the lot of a task goes into one vessel with `others`, and in words. Raises `Fault` for what cannot be."""
    refuse_future(at, view.now, view.zone)
    task = any_task(view, text)
    first, slug = path_of(task), slug_of(task)
    lots = {path: lot for path, (_, lot) in lots_of(view).items() if lot.kind in MEETING}
    paths = [first, *(lot_named(one, lots, first.partition("/")[0]) for one in others)]
    for path in paths:
        if path not in lots:
            raise Fault(f"{path} is no lot of extracted honey", " or ".join(lots))
        if (product := lots[path].product) not in MEETING:
            meeting = [other for other, lot in lots.items() if lot.product in MEETING]
            raise Fault(f"{path} is {product}: a lot of it goes into no tank with another", " or ".join(meeting) or "extracted honey")
        if into := next((made for made, of in view.parents.items() if path in of), None):
            raise Fault(f"{path} went into {into} already", f"--with {into}")
    if len(set(paths)) < len(paths):
        raise Fault("a lot does not meet itself", "another lot after --with")
    harvest = first.partition("/")[0]
    names = [path.partition("/")[2] if path.startswith(f"{harvest}/") else path.replace("/", "-") for path in paths]
    made = lot_path(harvest, "-".join(names))
    if not any(card.name == slug.replace("-", " ") and BLENDED in card.card.for_ for card in view.rules.cards):
        raise Fault(f"lots do not meet as {text} is done", f"afterpull done {first}/settle --with {' '.join(others)}")
    mixture = blend("mixture", [lots[path] for path in paths], view.rules.trade)
    limit = view.yard.limits.heather if mixture.heather else view.yard.limits.moisture
    share = () if mixture.moisture is None else (say("reckoned", share=percent(mixture.moisture)),)
    over = (say("over the limit together", limit=percent(limit)),) if mixture.moisture is not None and mixture.moisture > limit else ()
    words = view.words(say("lots met", lots=", ".join(paths), made=made, at=instant(at), share=share, over=over))
    return [LotsMet(occurred_at=at, lot=made, of=tuple(paths), by=by), TaskBegun(occurred_at=at, task=f"{made}/{slug}", by=by)], words
