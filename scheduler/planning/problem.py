"""What is planned: everything a plan is a function of."""

from collections.abc import Mapping
from typing import NamedTuple
from zoneinfo import ZoneInfo

from scheduler.facts.harvest import Harvest
from scheduler.facts.season import Season
from scheduler.facts.yard import Yard
from scheduler.local_time import ceil_to_minute
from scheduler.planning.draft import NOTHING, Happened, InForce
from scheduler.rules.rule_set import Rules


class Problem(NamedTuple):
    """A yard with its rules, harvests, season and what happened, as at `as_of` [s since 1970]."""

    yard: Yard
    rules: Rules
    harvests: tuple[Harvest, ...]
    as_of: int
    season: Season
    happened: Happened = NOTHING
    asks: bool = False  # whether what became of tasks is recorded anywhere, so that silence can be asked about

    in_force: InForce | None = None  # the plan that was published last, where there is one
    seasons: Mapping[str, Season] = {}  # of apiaries of which more is known than the yard file says
    ahead: Mapping[str, int] = {}  # harvests of which nobody said yet that the supers are off: for when each pull is planned [s since 1970]

    @property
    def zone(self) -> ZoneInfo:
        """The yard's time zone."""
        return ZoneInfo(self.yard.place.timezone)

    def season_at(self, apiary: str | None) -> Season:
        """The season at an apiary; the yard's for None."""
        if apiary is None:
            return self.season
        return self.seasons[apiary] if apiary in self.seasons else self.season.overlaid(self.yard.apiaries[apiary].season)

    def on_whole_minutes(self) -> "Problem":
        """The same on whole minutes: what happened, and the moment of the plan, count from the end of their minute."""
        happened = self.happened._replace(
            begun={name: ceil_to_minute(at) for name, at in self.happened.begun.items()},
            done={name: (ceil_to_minute(start), ceil_to_minute(finish)) for name, (start, finish) in self.happened.done.items()},
            skipped={name: (ceil_to_minute(at), because) for name, (at, because) in self.happened.skipped.items()},
            put_off={name: ceil_to_minute(until) for name, until in self.happened.put_off.items()},
        )
        return self._replace(as_of=ceil_to_minute(self.as_of), happened=happened)
