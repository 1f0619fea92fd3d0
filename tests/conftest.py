"""A ledger with Kestrel Bank and one harvest, on the morning of the pull; and a clock that a test moves. Invented.

Property tests have no time limit: a busy machine is not a fault. They draw anew in each run, keep nothing on the disk, and print what failed.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import settings

from scheduler.facts.fact import HarvestLogged, YardSet
from scheduler.ledger.store import Ledger
from scheduler.rules.load import load, overlays
from tests.chance import LONG, SEED, times
from tests.keeper import Keeper

EXAMPLES = Path(__file__).parents[1] / "examples" / "kestrel_bank"
PULLED = 1_786_437_000  # 2026-08-11 10:30 at the yard [s since 1970 UTC]

settings.register_profile("anew", deadline=None, derandomize=False, database=None, print_blob=True, max_examples=times(2000))
settings.load_profile("anew")


@pytest.hookimpl(tryfirst=True)
def pytest_configure(config: pytest.Config) -> None:
    """Properties draw by the seed of the run too, unless another was asked for; no line is folded for the terminal that shows the run."""
    os.environ.pop("COLUMNS", None)
    if config.option.hypothesis_seed is None:
        config.option.hypothesis_seed = SEED


def pytest_sessionstart() -> None:
    """The checked form of the bundled rules is kept before any clock is frozen: its dates would be those of the library that freezes it."""
    for overlay in ((), *((name,) for name in overlays())):
        load(overlay)


def pytest_report_header() -> str:
    """What to set to try the same again."""
    return f"chance: AFTERPULL_SEED={SEED}{' AFTERPULL_LONG=1' if LONG else ''}"


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """The same where something failed, also in a quiet run."""
    if terminalreporter.stats.get("failed"):
        terminalreporter.write_line(f"to try the same again: {pytest_report_header()}")


def fill(ledger: Ledger) -> None:
    """Set the yard and log the harvest of the example."""
    yard, harvest = EXAMPLES / "yard.yaml", EXAMPLES / "ridge-2.yaml"
    ledger.append(
        [
            YardSet(occurred_at=PULLED, text=yard.read_text(encoding="utf-8"), path=str(yard)),
            HarvestLogged(occurred_at=PULLED, harvest="ridge-2", text=harvest.read_text(encoding="utf-8"), path=str(harvest)),
        ],
        PULLED,
    )


@pytest.fixture
def where(tmp_path: Path) -> str:
    """The place of a ledger that holds the example."""
    place = str(tmp_path / "ledger.sqlite")
    with Ledger.open(place) as ledger:
        fill(ledger)
    return place


@pytest.fixture
def ledger(where: str) -> Iterator[Ledger]:
    """That ledger, open."""
    with Ledger.open(where) as opened:
        yield opened


@pytest.fixture
def at_the_pull(monkeypatch: pytest.MonkeyPatch) -> None:
    """The program's clock stands at the pull."""
    monkeypatch.setattr("scheduler.application.clock.now", lambda: datetime.fromtimestamp(PULLED, UTC))


@pytest.fixture
def ridge(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Keeper:
    """Kestrel Bank on the evening after the pull, in a folder of its own."""
    monkeypatch.chdir(tmp_path)
    keeper = Keeper(tmp_path / "ledger.sqlite", "kestrel_bank", "Europe/Ljubljana", "2026-08-11T11:00").logs("ridge-2")
    return keeper.waits_until("2026-08-11T20:00")
