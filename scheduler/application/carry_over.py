"""An export taken into a ledger: only facts that the ledger can plan from come in, or none."""

from __future__ import annotations

import io

from scheduler.application.ledger_view import LedgerView
from scheduler.application.season_evidence import log_of, table_of
from scheduler.diagnostics import Diagnostic, Fault, Refused
from scheduler.facts.fact import TABLES, Recorded, SeriesRecorded, YardSet
from scheduler.ledger.store import Ledger


def import_facts(ledger: Ledger, text: str, path: str, now: int) -> int:
    """
    Add what an export holds and the ledger does not; returns how many facts were new.

    Yard and harvest files and tables of instruments inside it are read as the next plan would read them. Raises `Refused`, and adds nothing, where one
    cannot be; a ledger that could not be planned from before is not kept from what might mend it.
    """
    sound = not _faults(ledger.facts(), now)

    def accept(recorded: tuple[Recorded, ...]) -> None:
        if sound and (faults := _faults(recorded, now)):
            raise Refused([Diagnostic(f"{path}, in {one.path}", one.line, one.column, one.message, one.write) for one in faults])

    return ledger.import_(io.StringIO(text), path, accept)


def _faults(recorded: tuple[Recorded, ...], now: int) -> tuple[Diagnostic, ...]:
    """What of yard, harvests and tables cannot be read; nothing while no yard is set. Rule files stay where they are, and may come later."""
    view = LedgerView(recorded, now)
    if not any(isinstance(one.fact, YardSet) for one in view.facts):
        return ()
    try:
        _ = view.harvests, view.air
        for one in view.facts:
            if isinstance(one.fact, SeriesRecorded):
                _ = table_of(one.fact, view.zone) if one.fact.what in TABLES else log_of(one.fact, view.zone)
    except Refused as refused:
        return refused.diagnostics
    except Fault as fault:
        return (Diagnostic("ledger", 0, 0, fault.message, fault.write),)
    return ()
