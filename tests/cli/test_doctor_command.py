"""`afterpull doctor`: which calendar will ring."""

from __future__ import annotations

from click.testing import CliRunner

from scheduler.application.feed_addresses import new
from scheduler.cli import main
from scheduler.ledger.store import Ledger
from tests.conftest import PULLED


def test_a_subscription_in_use_is_named_and_not_to_be_counted_on(where: str) -> None:
    """Who subscribes is read from the ledger; every way says where its answer stands, and what rings whatever happens."""
    with Ledger.open(where) as ledger:
        new(ledger, "kitchen", PULLED)
    told = CliRunner().invoke(main, ["doctor", "--ledger", where])
    assert told.exit_code == 0
    assert "A subscription (afterpull serve) - in use: kitchen\n  Alarms ring: do not count on it." in told.output
    assert "A calendar server (afterpull sync) - not in use" in told.output
    assert "RFC 4791 section 8.6" in told.output
    assert "afterpull watch" in told.output
