"""The form of a harvest on the page: what it begins with, and what was chosen or typed in it as lots in words."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from typing import Any, NamedTuple

from scheduler.application.hive_facts import named_hives
from scheduler.application.ledger_view import LedgerView
from scheduler.application.refusals import AtField
from scheduler.application.templates import SAMPLE
from scheduler.diagnostics import instead
from scheduler.facts.harvest import FRAMES, KINDS
from scheduler.local_time import spoken

ROWS = 3  # lots that are chosen; more are typed; assumed
PARTS = ("kind", "frames", "frame", "moisture")  # of a lot that is chosen, each with its number
FIELDS = ("name", "pulled", "hives", "apiary", "lots", *(f"{part}{number}" for number in range(1, ROWS + 1) for part in PARTS))
TYPED = "%Y-%m-%dT%H:%M"  # as a field for day and hour has it (HTML Living Standard, section 2.3.5.5)


class TypedLot(NamedTuple):
    """A lot in words, and the field that what is wrong with it stands beside."""

    words: str
    field: str


def lots_typed(form: Mapping[str, str], kinds: Sequence[str]) -> list[TypedLot]:
    """The lots of a form, those that were chosen first. Raises `AtField` for one of which a part is missing, and where there is none."""
    found = [*_chosen(form, kinds), *(TypedLot(line.strip(), "lots") for line in form.get("lots", "").splitlines() if line.strip())]
    if not found:
        raise AtField("a harvest has at least one lot", f"what came off, in the list, or in words {SAMPLE}", "kind1")
    return found


def _chosen(form: Mapping[str, str], kinds: Sequence[str]) -> Iterator[TypedLot]:
    for number in range(1, ROWS + 1):
        kind, frames, frame, moisture = (form.get(f"{part}{number}", "").strip()[:40] for part in PARTS)
        if not (kind or frames or moisture):
            continue
        if kind not in kinds:
            raise AtField("what this lot is was not chosen", instead(kind, kinds) if kind else " or ".join(kinds), f"kind{number}")
        if frame not in ("", *FRAMES):
            raise AtField(f'"{frame}" is not a size of frames', instead(frame, FRAMES), f"frames{number}")
        if not (frames.isascii() and frames.isdigit()):
            raise AtField("how many frames came off is missing" if not frames else f'"{frames}" is not a number of frames', "14", f"frames{number}")
        read = f" {moisture.removesuffix('%').strip().replace(',', '.')}%" if moisture else ""
        if read and not re.fullmatch(r" \d+(\.\d+)?%", read):
            raise AtField(f'"{moisture}" is not a moisture', "17.4", f"moisture{number}")
        yield TypedLot(f"{kind} {frames} {frame or FRAMES[0]}{read}", f"kind{number}")


def kinds_of(view: LedgerView) -> list[str]:
    """What a lot can be here: the four kinds, and what the rules bring."""
    return [*KINDS, *view.rules.products.known]


def next_name(view: LedgerView) -> str:
    """A name for the next harvest that none has: that of the last one counted on, or that of the yard with a number."""
    taken = {one.harvest for one in view.harvests}
    last = next((match for one in reversed(view.logged) if (match := re.fullmatch(r"(.*?)(\d{1,6})", one.harvest.harvest))), None)
    stem, number = (last[1], int(last[2]) + 1) if last else (f"{_slug(view.yard.yard)}-", 1)
    while f"{stem}{number}" in taken:
        number += 1
    return f"{stem}{number}"


def _slug(name: str) -> str:
    return re.sub("[^a-z0-9]+", "-", name.lower()).strip("-")[:30] or "harvest"


def harvest_values(view: LedgerView, now: int) -> dict[str, Any]:
    """What the form begins with, and what there is to choose; and the harvests that are planned."""
    return {
        "apiaries": list(view.yard.apiaries),
        "hives_known": named_hives(view),
        "kinds": kinds_of(view),
        "frame_sizes": FRAMES,
        "rows": ROWS,
        "any": bool(view.harvests),
        "planned": [(name, spoken(at, view.zone)) for name, at in view.ahead.items()],
        "begin": {"name": next_name(view), "pulled": f"{datetime.fromtimestamp(now, view.zone):{TYPED}}"},
    }
