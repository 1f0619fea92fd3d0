"""What is printed for a lot: a card for its box and a sheet of labels, each with the code of its work as text and as a QR code (ISO/IEC 18004)."""

from __future__ import annotations

from typing import NamedTuple
from zoneinfo import ZoneInfo

from scheduler.facts.harvest import lot_path
from scheduler.local_time import spoken
from scheduler.outputs.text.lot_sheet import LotRecord
from scheduler.outputs.text.now import ShownStep, task_shown
from scheduler.planning.plan import Plan, PlannedTask
from scheduler.planning.task_ids import codes, path_of

FEW = 8  # hives that a card names; assumed
QUIET = 4  # modules of white around a QR code; ISO/IEC 18004


class Label(NamedTuple):
    """A step of the work on a lot: its words, its code, and the code as a picture (SVG without a size; the page says how large)."""

    step: ShownStep
    code: str
    picture: str


class LotCard(NamedTuple):
    """What stands on the card and the labels of a lot."""

    lot: str
    kind: str
    pulled: str
    hives: str
    printed: str
    stops: tuple[str, ...]  # what it is stopped by, and how it is kept meanwhile
    labels: tuple[Label, ...]  # of the work still to come, in order of time


def lot_card(plan: Plan, record: LotRecord, now: int) -> LotCard:
    """The card of a lot at `now` [s since 1970]: its work still to come, without the lines of checklists and without mere limits."""
    path, code, zone = lot_path(record.harvest.harvest, record.lot.id), codes(task.id for task in plan.tasks), ZoneInfo(plan.timezone)
    work = sorted((task for task in plan.tasks if _is_work(task) and path_of(task.id) == path), key=lambda task: (task.hands[0][0], task.id))
    stops = tuple(" ".join(filter(None, (f"{stop.kind}.", stop.says, stop.meanwhile))) for stop in plan.stops if path in stop.lots)
    pulled = spoken(record.pulled, zone) if record.pulled is not None else "planned, not pulled yet"
    labels = tuple(Label(task_shown(plan, task, now), code[task.id], qr(code[task.id])) for task in work)
    return LotCard(path, record.lot.product, pulled, _hives(record.hives), spoken(now, zone), stops, labels)


def qr(code: str) -> str:
    """A code as SVG with a light ground, error correction M; upper case and digits keep it at 21 modules a side, 29 with the white around it."""
    import segno  # late: only who prints a label waits for it

    drawn: str = segno.make(code, error="m", micro=False).svg_inline(border=QUIET, omitsize=True, light="#fff", svgclass=None, lineclass=None)
    return drawn


def _hives(names: tuple[str, ...]) -> str:
    """The first few by name; the record of the lot has them all."""
    more = f" and {len(names) - FEW} more" if len(names) > FEW else ""
    return ", ".join(names[:FEW]) + more


def _is_work(task: PlannedTask) -> bool:
    return task.is_open and bool(task.hands) and task.alongside is None
