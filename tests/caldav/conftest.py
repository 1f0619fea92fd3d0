"""The example ledger of the feed tests."""

from __future__ import annotations

from tests.feed.conftest import at_the_pull, ledger, where

__all__ = ["at_the_pull", "ledger", "where"]
