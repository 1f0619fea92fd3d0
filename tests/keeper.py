"""A keeper at the command line: a ledger of their own, and a clock that stands still until it is told to go on."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from click.testing import CliRunner
from freezegun import freeze_time

from scheduler.application.ledger_view import LedgerView, view_at
from scheduler.cli import main
from scheduler.ledger.store import Ledger
from scheduler.local_time import spoken
from scheduler.outputs.calendar import vtimezone
from scheduler.planning.plan import Plan, PlannedTask

EXAMPLES = Path(__file__).resolve().parents[1] / "examples"
PURE = [f"scheduler.{room}" for room in ("planning", "rules", "estimates", "facts", "instruments")]
NO_CLOCK = [*PURE, "sqlalchemy", "pydantic", "jinja2", "pygments", "yaml", "email", "h11", "dateutil"]  # to go through them takes half of each freezing


def frozen(moment: str) -> Any:
    """The clock stands still. The zones of a calendar read no clock and keep the plain datetime: the frozen one loses the fold of a repeated hour."""
    return freeze_time(moment, ignore=[vtimezone.__name__, *NO_CLOCK])


class Keeper:
    """Types commands at a yard's local time and reads what comes back."""

    def __init__(self, ledger: Path | str, example: str, timezone: str, now: str) -> None:
        self.ledger, self.folder, self.zone = ledger, EXAMPLES / example, ZoneInfo(timezone)
        self.now = self.moment(now)
        self.seen: dict[tuple[object, ...], LedgerView] = {}  # since the last command
        self.types("init", "--from", str(self.folder / "yard.yaml"))

    def moment(self, local: str) -> int:
        """Epoch seconds of a local time at the yard."""
        return int(datetime.fromisoformat(local).replace(tzinfo=self.zone).timestamp())

    def waits_until(self, local: str) -> Keeper:
        """Time goes on to a local time at the yard."""
        self.now = self.moment(local)
        return self

    def types(self, *words: str, refused: bool = False) -> str:
        """Type a command; gives all that it says. It has to succeed, or, where `refused`, to say so with exit status 2."""
        self.seen = {}
        with frozen(datetime.fromtimestamp(self.now, UTC).isoformat()):
            result = CliRunner().invoke(main, list(words), env={"AFTERPULL_LEDGER": str(self.ledger)})
        assert result.exit_code == (2 if refused else 0), result.output
        assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
        return result.output

    def logs(self, harvest: str) -> Keeper:
        """Log a harvest of the example."""
        self.types("log", str(self.folder / f"{harvest}.yaml"))
        return self

    @property
    def view(self) -> LedgerView:
        """What the ledger says now; asked again before the next command, and told nothing new, it is the view that was worked out."""
        with Ledger.open(self.ledger) as ledger:
            view = view_at(ledger, self.now)
        return self.seen.setdefault((self.now, view.recorded, view.in_force_text), view)

    @property
    def plan(self) -> Plan:
        """The plan that follows now."""
        return self.view.plan

    def task(self, end: str) -> PlannedTask:
        """The task whose id ends so."""
        [found] = [task for task in self.plan.tasks if task.id.endswith(f"/{end}")]
        return found

    def has(self, end: str) -> bool:
        """Whether a task whose id ends so is planned."""
        return any(task.id.endswith(f"/{end}") for task in self.plan.tasks)

    def clock(self, moment: int) -> str:
        """A moment at the yard as the program prints it."""
        return spoken(moment, self.zone)

    def told(self, task: PlannedTask) -> str:
        """When a task starts, as local time."""
        return datetime.fromtimestamp(task.start, self.zone).strftime("%Y-%m-%d %H:%M")


def section(agenda: str, heading: str) -> str:
    """What an agenda says under a heading, on one line."""
    match = re.search(rf"^{heading}.*?\n(.*?)(?:\n\n|\Z)", agenda, re.MULTILINE | re.DOTALL)
    return " ".join(match[1].split()) if match else ""
