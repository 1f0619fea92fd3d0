"""A planned harvest whose pull is moved to another moment, as far as the ledger has it; the keeper's own file is left as it is, and named."""

from __future__ import annotations

import re
from datetime import datetime
from pathlib import Path
from typing import Any

from scheduler.application.harvest_form import TYPED
from scheduler.application.ledger_view import LedgerView
from scheduler.application.planned_pulls import Logged, otherwise
from scheduler.application.refusals import AGENDA, Remedied
from scheduler.application.tell_tasks import Confirmation
from scheduler.diagnostics import Fault
from scheduler.facts.fact import HarvestLogged, in_force
from scheduler.facts.harvest import read_harvest
from scheduler.local_time import spoken
from scheduler.quantities import instant, say

_PULLED = re.compile(r"^pulled:[^#\n]*[^#\s]", re.MULTILINE)  # without a comment behind it


def planned(view: LedgerView, name: str) -> tuple[Logged, int]:
    """A harvest that is planned and not off yet, and for when [s since 1970]. Raises `Fault` where none is so called."""
    found = {one.harvest.harvest: (one, one.ahead) for one in view.logged if one.ahead is not None}
    if name not in found:
        near = ", ".join(found)
        raise Remedied(f'no harvest "{name[:40]}" is planned and not off yet', near or "afterpull agenda", page=f"Planned: {near}" if near else "", look=AGENDA)
    return found[name]


def pull_shown(view: LedgerView, name: str) -> dict[str, Any]:
    """A harvest that is planned, for the page that moves its pull. Raises `Fault` where none is so called."""
    logged, at = planned(view, name)
    texts = [one.id for one in in_force(view.recorded) if isinstance(one.fact, HarvestLogged) and one.fact.harvest == name]
    return {
        "harvest": name,
        "when": spoken(at, view.zone),
        "over": at <= view.now,
        "pulled": f"{datetime.fromtimestamp(at, view.zone):{TYPED}}",
        "lots": [f"{lot.product}: {lot.frames} {lot.frame} frames" for lot in logged.harvest.lots],
        "place": line_of_pull(logged.text),
        "facts": ",".join(texts),
    }


def move(view: LedgerView, name: str, at: int, now: int) -> Confirmation:
    """
    What is to be written down where a planned harvest is to be pulled at another moment [s since 1970]; nothing is written yet.

    Raises `Fault` for what is not planned, or a moment that is over, and `Refused` for one too far ahead.
    """
    logged, was = planned(view, name)
    if at <= now:
        raise Fault(f"{spoken(at, view.zone)} is over", "a moment to come; where the supers are off, say so on the page of the work")
    text = moved(logged.text, datetime.fromtimestamp(at, view.zone))
    read_harvest(text.encode(), logged.text.path, view.yard, now, view.rules.products.known)
    words = [view.words(say("pull moved", harvest=name, at=instant(at), was=instant(was)))]
    if (place := line_of_pull(logged.text)) is not None:
        words.append(view.words(say("file as it was", path=place[0].name, line=str(place[1]))))
    return Confirmation("\n".join(words), HarvestLogged(occurred_at=now, harvest=name, text=text, path=logged.text.path))


def moved(text: HarvestLogged, pulled: datetime) -> str:
    """The text of a planned harvest for another moment; the rest of it, comments and lines too, is as it was."""
    told, changed = _PULLED.subn(f"pulled: {pulled:%Y-%m-%dT%H:%M}", text.text, count=1)
    return told if changed else otherwise(text, pulled, (), (), (), None)


def line_of_pull(text: HarvestLogged) -> tuple[Path, int] | None:
    """The keeper's file that a planned harvest was logged from, and the line that says when; None where there is no such file, or not that line in it."""
    path = Path(text.path)
    found = _PULLED.search(path.read_text(encoding="utf-8", errors="replace")) if path.is_file() else None
    return (path, found.string.count("\n", 0, found.start()) + 1) if found else None
