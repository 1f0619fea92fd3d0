"""The one place where the time is read."""

from __future__ import annotations

from datetime import UTC, datetime


def now() -> datetime:
    """This moment, in UTC."""
    return datetime.now(UTC)  # noqa: TID251 the clock is read here and nowhere else
