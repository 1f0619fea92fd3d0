"""What is named on the command line and completed by the shell: a task from the plan of the ledger, a person of its yard, a place, a stream."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Literal, TypeVar, get_args

import click
from click.shell_completion import CompletionItem

if TYPE_CHECKING:
    from scheduler.application.ledger_view import LedgerView

T = TypeVar("T")


class TaskName(click.ParamType[str]):
    """The id of a task, or the end of one that is enough to tell it apart."""

    name = "task"

    def shell_complete(self, ctx: click.Context, param: click.Parameter, incomplete: str) -> list[CompletionItem]:
        """The open tasks whose id or end of an id begins so; nothing where there is no ledger, for completion never speaks of errors."""
        from scheduler.outputs.wording.sentence import title_of

        tasks = [task for task in _from_ledger(ctx, lambda view: view.plan.tasks) if task.is_open]
        return [CompletionItem(task.id, help=title_of(task)) for task in tasks if task.id.startswith(incomplete) or f"/{incomplete}" in task.id]


class PersonName(click.ParamType[str]):
    """Somebody who works in the yard."""

    name = "person"

    def shell_complete(self, ctx: click.Context, param: click.Parameter, incomplete: str) -> list[CompletionItem]:
        """The keeper, and the people of the yard file where there is a ledger."""
        from scheduler.facts.people import KEEPER

        return _beginning([KEEPER, *_from_ledger(ctx, lambda view: view.yard.people)], incomplete)


class CardWord(click.ParamType[str]):
    """A word that cards are sorted by: their place or their stream."""

    def __init__(self, kind: Literal["Place", "Stream"]) -> None:
        self.name, self.kind = kind.lower(), kind

    def shell_complete(self, ctx: click.Context, param: click.Parameter, incomplete: str) -> list[CompletionItem]:
        """Every such word, and each apiary of the yard by its name."""
        from scheduler.rules import schema

        named = _from_ledger(ctx, lambda view: view.yard.apiaries) if self.kind == "Place" else []
        return _beginning([*get_args(getattr(schema, self.kind)), *named], incomplete)


def _from_ledger(ctx: click.Context, find: Callable[[LedgerView], Iterable[T]]) -> list[T]:
    """What is found in the ledger as it stands now; nothing where there is none."""
    import contextlib

    from scheduler.diagnostics import Fault, Refused

    with contextlib.suppress(Refused, Fault, OSError):
        from scheduler.application.clock import now
        from scheduler.application.ledger_view import view_at
        from scheduler.cli.ledger_option import opened

        with opened(ctx.params.get("ledger")) as ledger:
            return list(find(view_at(ledger, int(now().timestamp()), search=False)))
    return []


def _beginning(words: Iterable[str], incomplete: str) -> list[CompletionItem]:
    return [CompletionItem(word) for word in words if word.startswith(incomplete)]


TASK, PERSON, PLACE, STREAM = TaskName(), PersonName(), CardWord("Place"), CardWord("Stream")
