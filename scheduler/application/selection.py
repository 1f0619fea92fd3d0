"""The part of a plan that one person asks for: their own work, or the work at one place."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import get_args

from scheduler.application.yard_check import known_person, known_word
from scheduler.facts.people import KEEPER
from scheduler.planning.plan import Plan, PlannedTask
from scheduler.planning.sittings import has_name
from scheduler.rules.schema import Place


@dataclass(frozen=True, slots=True)
class PlanFilter:
    """Whose work (the keeper's by that word) and at which place; all of it where neither is said. Raises `Fault` for one that is not known."""

    person: str | None
    place: str | None
    people: Iterable[str] = ()
    apiaries: Iterable[str] = ()

    def __post_init__(self) -> None:
        if self.person is not None:
            known_person(self.person, self.people)
        if self.place is not None:
            known_word("place", self.place, (*self.apiaries, *get_args(Place)))

    @property
    def words(self) -> str:
        """Which part it is: "for Mira, apiary"; nothing for the whole."""
        return ", ".join([*([f"for {self.person}"] if self.person else []), *([self.place] if self.place else [])])

    @property
    def reader(self) -> str:
        """Under which name the ledger keeps what was last seen of it: each part is looked at for itself."""
        return " ".join(filter(None, ["agenda", self.words]))

    def of(self, plan: Plan) -> Plan:
        """The plan with these tasks alone, and with what is to be minded of them or of the whole."""
        if not self.words:
            return plan
        tasks = tuple(task for task in plan.tasks if self._holds(task))
        here = {task.id for task in tasks}
        return plan._replace(tasks=tasks, warnings=tuple(warning for warning in plan.warnings if warning.task is None or warning.task in here))

    def _holds(self, task: PlannedTask) -> bool:
        return (self.person is None or self.person in [one or KEEPER for one in task.people]) and (
            self.place in (None, task.place) or (self.place == "apiary" and has_name(task.place))
        )
