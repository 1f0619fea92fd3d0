"""What is planned: everything a plan is a function of."""

from typing import NamedTuple
from zoneinfo import ZoneInfo

from scheduler.facts.harvest import Harvest
from scheduler.facts.season import Season
from scheduler.facts.yard import Yard
from scheduler.planning.draft import NOTHING, Happened
from scheduler.rules.load import Rules


class Problem(NamedTuple):
    """A yard with its rules, harvests, season and what happened, as at `as_of` [s since 1970]."""

    yard: Yard
    rules: Rules
    harvests: tuple[Harvest, ...]
    as_of: int
    season: Season
    happened: Happened = NOTHING

    @property
    def zone(self) -> ZoneInfo:
        """The yard's time zone."""
        return ZoneInfo(self.yard.place.timezone)
