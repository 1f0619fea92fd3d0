"""Why another card stands in for one, or beside one: the one cause that applies; and what a card asks to mind."""

from __future__ import annotations

from collections.abc import Callable, Container, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from scheduler.planning.draft import Draft, Subject
from scheduler.planning.network import Placement
from scheduler.planning.plan import Reason, Warning
from scheduler.planning.problem import Problem
from scheduler.planning.windows import OpenWhen, Windows
from scheduler.quantities import Statement, instant, say
from scheduler.rules.amounts import condition
from scheduler.rules.environment import Environment
from scheduler.rules.templates import render

OfCard = tuple[str, Subject]


@dataclass
class OtherWays:
    """What gave way to what in one plan, and why."""

    problem: Problem
    windows: Windows
    causes: dict[OfCard, Statement] = field(default_factory=dict)

    def late(self, drafts: Sequence[Draft], placed: Mapping[str, Placement]) -> frozenset[OfCard]:
        """Cards planned past their due date, beside which another one is wanted then; not where it passed so long ago as it was given."""
        watched, happened = self.problem.rules.watched, self.problem.happened
        return frozenset(
            (draft.card.key, draft.subject)
            for draft in drafts
            if draft.card.key in watched and draft.due is not None and draft.id in placed and draft.id not in happened.done
            if placed[draft.id].finish > draft.due and self.problem.as_of - draft.due <= draft.due - draft.nominal
        )

    def gave_way(self, drafts: Sequence[Draft], failed: Container[OfCard], placed: Mapping[str, Placement]) -> None:
        """Keep why each card that failed did."""
        for draft in drafts:
            if (draft.card.key, draft.subject) in failed:
                self.causes.setdefault((draft.card.key, draft.subject), draft.refusal or self._cause(draft, placed))

    def tell(self, drafts: Sequence[Draft], placed: Mapping[str, Placement]) -> None:
        """Give each card that stands in for another, or beside it, the reason."""
        first = {(draft.card.key, draft.subject): draft for draft in reversed(drafts)}
        for draft in drafts:
            if draft.card.instead_of and (cause := self.causes.get((draft.card.instead_of, draft.subject))):
                draft.reasons.append(Reason("instead", cause))
            if draft.card.where_late and (beside := first.get((draft.card.where_late, draft.subject))) and beside.due is not None and beside.id in placed:
                says = say("late beside", before=beside.title, limit=instant(beside.due), finish=instant(placed[beside.id].finish))
                draft.reasons.append(Reason("where late", says))

    def _cause(self, draft: Draft, placed: Mapping[str, Placement]) -> Statement:
        """The one cause: a treatment of its hives; days too cold for it; the hour it has inside a season; or no free evening."""
        if draft.deadline is None:
            return say("no time fits")
        treated = next((reason.says for reason in draft.reasons if reason.says.kind == "hive under treatment"), None)
        if treated is not None and draft.release >= draft.deadline:
            return treated
        if draft.deadline <= self.problem.as_of:
            return say("its day is past", before=draft.title, limit=datetime.fromtimestamp(draft.deadline, self.problem.zone).date())
        since = max([draft.release, *(placed[link.task].finish for link in draft.links if link.task in placed)])
        said = {"before": draft.title, "limit": datetime.fromtimestamp(draft.deadline, self.problem.zone).date()}
        if not self._opens(draft, draft.open_begin, "any", since):
            warm = tuple(window._replace(days=(None, None), nights=(None, None), means=(None, None)) for window in draft.open_begin)
            return say("too cold for it", **said) if self._opens(draft, warm, "any", since) else say("no hour", **said)
        inside = next((window.inside for window in draft.open_begin if window.inside), None)
        outside = tuple(window._replace(outside=None) for window in draft.open_begin if window.outside and window.outside == inside)
        if inside and not self._opens(draft, draft.open_begin, draft.hours, since) and self._opens(draft, outside, draft.hours, since):
            return say("only at its hour inside a season", span=str(inside), **said)
        return say("no evening", **said)

    def _opens(self, draft: Draft, windows: tuple[OpenWhen, ...], hours: str, since: int) -> bool:
        """Whether windows open between a moment and the deadline, within these hours."""
        key = self.windows.calendar(windows, hours, draft.person)
        if key is None:
            return True
        calendar = self.windows.calendars[key]
        number = calendar.index(since)
        return calendar.has(number) and calendar.starts[number] < (draft.deadline or since)


def to_mind(problem: Problem, drafts: Sequence[Draft], placed: Mapping[str, Placement], names: Callable[[str, Subject], Environment]) -> Iterator[Warning]:
    """What cards that are still to be done ask to mind here, each said once. `names` gives what a rule set's expressions see of a subject."""
    over, told = {*problem.happened.done, *problem.happened.skipped}, set()
    for draft in drafts:
        if not draft.card.card.mind or draft.id not in placed or draft.id in over:
            continue
        env = names(draft.card.set, draft.subject)
        for care in draft.card.card.mind:
            if condition(care.if_, env) and (words := render(care.say, env)) not in told:
                told.add(words)
                says = say("as written", text=words)
                by = render(care.by, env) if care.by else None
                yield Warning("to mind", draft.id, say("to mind and say", says=says, by=by) if by else say("to mind", says=says))
