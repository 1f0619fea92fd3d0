"""Every published value and every reference, and the page that shows them."""

from __future__ import annotations

import pytest

from tests.estimates.check_table import PAGE, table
from tests.estimates.check_values import Check, every_check


@pytest.mark.parametrize("check", every_check(), ids=lambda check: f"{check.topic}: {check.case}")
def test_ours_agrees_with_the_source_named(check: Check) -> None:
    assert check.holds, f"{check.case}: not {check.expected}, ours {check.ours} {check.unit} ({check.source})"


def test_the_page_of_checks_is_what_the_command_prints() -> None:
    assert PAGE.read_text("utf-8") == table(), "run: python -m tests.estimates.check_table --write"


def test_every_check_names_its_source() -> None:
    assert all(check.source for check in every_check())
