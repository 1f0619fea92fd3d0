"""Plans made by hand for the tests of the outputs. Yards, hives and numbers are invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from scheduler.facts.hours import Hours
from scheduler.planning.plan import Link, Plan, PlannedTask, Reason, Told, Warning
from scheduler.quantities import say

HOUR = 3600
DAY = 24 * HOUR
DRAINED = "41 h (36 h to 48 h) at 21 °C and 17.4 % moisture"
FULL = "The freezer holds 18 packages at once; 6 wait 52 h. Lower the load to 18 packages or add 20 L of space."


def at(text: str, timezone: str = "Europe/Ljubljana") -> int:
    """ "2026-08-11 17:30" at the yard, as epoch seconds."""
    return int(datetime.fromisoformat(text).replace(tzinfo=ZoneInfo(timezone)).timestamp())


def task(name: str, start: int, *, minutes: int = 30, hold: int = 0, end_minutes: int = 0, **given: Any) -> PlannedTask:
    """A task that begins at `start` with `minutes` of work, holds `hold` seconds and may close with more work."""
    begun = start + 60 * minutes
    hold_done = begun + hold if hold else None
    closing = ((hold_done or begun), (hold_done or begun) + 60 * end_minutes)
    hands = ((start, begun), closing) if end_minutes else ((start, begun),)
    made = PlannedTask(
        id=f"ridge-2/a/{name}",
        rule=f"comb honey/{name.replace('-', ' ')}",
        title=f"{name.capitalize()} 24 pieces",
        stream="cut comb",
        harvest="ridge-2",
        lot="a",
        batch=None,
        status="planned",
        start=start,
        hold_done=hold_done,
        finish=closing[1] if end_minutes else (hold_done or begun),
        due=None,
        links=(),
        occupies=(),
        hands=hands,
        alerts=(),
        reasons=(Reason(f"card {name}", say("as written", text=f"The {name} card follows from the cut comb.")),),
        cautions=(),
        loss="crop",
    )
    return replace(made, **given)


def plan(
    *tasks: PlannedTask, timezone: str = "Europe/Ljubljana", as_of: int | None = None, warnings: tuple[Warning, ...] = (), quiet: Hours | None = None
) -> Plan:
    """A plan of Kestrel Bank with these tasks, in order of start."""
    ordered = tuple(sorted(tasks, key=lambda t: (t.start, t.id)))
    known = as_of if as_of is not None else (ordered[0].start - 60 if ordered else at("2026-08-11 10:30"))
    return Plan("Kestrel Bank", timezone, "metric", known, ordered, warnings, quiet=quiet)


def ridge() -> Plan:
    """Five shallow frames of cut comb from cutting to the frozen packages, with a giving-back of wet frames that is still provisional."""
    cut = task("cut", at("2026-08-11 17:30"), minutes=50, title="Cut 5 frames into 24 pieces", cautions=("hot tools and mains near wet hands",))
    drain = task(
        "drain",
        at("2026-08-11 18:20"),
        minutes=10,
        hold=41 * HOUR,
        title="Drain 24 cut pieces on the rack",
        links=(Link("ridge-2/a/cut", greatest=2 * HOUR),),
        occupies=(("drain rack", 24.0),),
        alerts=(Told(at("2026-08-13 11:30"), "Cut edges drained: pack 24 pieces"),),
        reasons=(
            Reason("estimate drain_time", say("as written", text=DRAINED), "comb_honey.yaml:38 drain", ("assumed film thickness",)),
            Reason("parameter drain floor", say("as written", text="12 h, common practice"), "comb_honey.yaml:12"),
        ),
    )
    freeze = task(
        "freeze",
        at("2026-08-13 17:30"),
        minutes=20,
        hold=50 * HOUR,
        end_minutes=15,
        title="Freeze 24 packages",
        links=(Link("ridge-2/a/drain"),),
        occupies=(("freezer", 0.02),),
        due=at("2026-08-16 12:00"),
        loss="food safety",
        alerts=(Told(at("2026-08-13 17:15"), "Make room in the freezer"), Told(at("2026-08-15 19:50"), "Freezer hold done")),
        hands=((at("2026-08-13 17:30"), at("2026-08-13 17:50")), (at("2026-08-16 08:00"), at("2026-08-16 08:15"))),
        finish=at("2026-08-16 08:15"),
    )
    give = task(
        "give-back",
        at("2026-08-12 20:05"),
        title="Give 14 wet frames back at dusk",
        status="provisional",
        stream="extracted",
        lot="b",
        id="ridge-2/b/give-back",
        cautions=("stings and allergy",),
    )
    late = Warning("capacity", "ridge-2/a/freeze", say("as written", text=FULL))
    return plan(cut, drain, freeze, give, as_of=at("2026-08-11 10:30"), warnings=(late,))
