"""A task on the command line, with completion from the plan of the ledger."""

from __future__ import annotations

import click
from click.shell_completion import CompletionItem


class TaskName(click.ParamType[str]):
    """The id of a task, or the end of one that is enough to tell it apart."""

    name = "task"

    def shell_complete(self, ctx: click.Context, param: click.Parameter, incomplete: str) -> list[CompletionItem]:
        """The open tasks whose id or end of an id begins so; nothing where there is no ledger, for completion never speaks of errors."""
        import contextlib

        from scheduler.diagnostics import Fault, Refused

        with contextlib.suppress(Refused, Fault, OSError):
            from scheduler.application.clock import now
            from scheduler.application.record import opened_at
            from scheduler.cli.ledger_option import opened

            with opened(ctx.params.get("ledger")) as ledger:
                plan = opened_at(ledger, int(now().timestamp())).plan
            tasks = [task for task in plan.tasks if task.status in ("planned", "provisional")]
            return [CompletionItem(task.id, help=task.title) for task in tasks if task.id.startswith(incomplete) or f"/{incomplete}" in task.id]
        return []


TASK = TaskName()
