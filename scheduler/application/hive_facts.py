"""What a keeper reports of hives, and of lots that a stop holds back: foulbrood, and a lot let go on."""

from __future__ import annotations

from datetime import date, datetime, time

from scheduler.application.ledger_view import LedgerView
from scheduler.diagnostics import Fault, instead
from scheduler.facts.fact import HiveDisease, LotReleased
from scheduler.facts.harvest import lot_path

FOULBROOD = "foulbrood"


def noticed_at(on: date, now: int, view: LedgerView) -> int:
    """A moment of a day at the yard [s since 1970]: now where it is today, else its noon. Raises `Fault` for a day still to come."""
    today = datetime.fromtimestamp(now, view.zone).date()
    if on > today:
        raise Fault(f"{on} is still to come", "the day on which it was seen")
    return now if on == today else int(datetime.combine(on, time(12), view.zone).timestamp())


def foulbrood(view: LedgerView, words: str, hive: str | None, on: date, now: int) -> tuple[str, HiveDisease]:
    """Foulbrood suspected in a hive, or with "no" not confirmed: the words that answer, and the fact. Raises `Fault` for a hive that no harvest names."""
    suspected = words != "no"
    if words not in ("", "no", "yes"):
        raise Fault(f'"foulbrood {words}" is not understood', '"foulbrood --of HIVE", or "foulbrood no --of HIVE" where it is not confirmed')
    known = _hives(view)
    if hive is None and not suspected and len(view.foulbrood) == 1:
        hive = next(iter(view.foulbrood))
    if hive is None:
        raise Fault("foulbrood: in which hive?", " or ".join(f"--of {name}" for name in known[:8]) or "--of the hive's name")
    if hive not in known and hive not in view.foulbrood:
        raise Fault(f'no harvest names the hive "{hive}"', instead(hive, known) if known else "log the harvest with its hives first")
    fact = HiveDisease(occurred_at=noticed_at(on, now, view), hive=hive, suspected=suspected)
    if not suspected:
        if hive not in view.foulbrood:
            known = list(view.foulbrood)
            raise Fault(f'foulbrood is not suspected in the hive "{hive}"', instead(hive, known) if known else "afterpull agenda, which shows what is stopped")
        return f"Foulbrood in {hive}: not confirmed. What it stopped goes on", fact
    ring = f" Ring the bee inspector now: {view.yard.inspector}." if view.yard.inspector else " Ring the bee inspector now."
    first = "Close the hive, make its entrance small, clean or change gloves and tools, and move nothing."
    return f"Foulbrood suspected in {hive}. {first}{ring} Stopped: {', '.join(_stopped_by(view, hive)) or 'no lot'}", fact


def release(view: LedgerView, lot: str, because: str, now: int) -> tuple[str, LotReleased]:
    """Let a lot go on that a stop holds back. Raises `Fault` where no lot is so named, or nothing stops it."""
    held = {path: stop.kind for stop in view.plan.stops for path in stop.lots}
    lots = [lot_path(harvest.harvest, one.id) for harvest in view.harvests for one in harvest.lots]
    found = [path for path in lots if path == lot or path.endswith(f"/{lot}")]
    if len(found) != 1:
        raise Fault(f'"{lot}" is not one lot', instead(lot, found or lots))
    if found[0] not in held:
        raise Fault(f"nothing stops {found[0]}", instead(found[0], held) if held else "afterpull agenda, which shows what is stopped")
    if not because.strip():
        raise Fault("a lot is let go on for a reason", '--because "the label allows supers, and so does local law"')
    return f"{found[0]} goes on ({held[found[0]]}): {because}", LotReleased(occurred_at=now, lot=found[0], because=because)


def _hives(view: LedgerView) -> list[str]:
    return list(dict.fromkeys(hive for harvest in view.harvests for hive in harvest.hives))


def _stopped_by(view: LedgerView, hive: str) -> list[str]:
    return [lot_path(harvest.harvest, lot.id) for harvest in view.harvests if hive in harvest.hives for lot in harvest.lots]
