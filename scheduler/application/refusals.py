"""Refusals whose remedy is a command in the shell and something else on the page: the page of a task, a list, or words."""

from __future__ import annotations

from scheduler.diagnostics import Diagnostic, Fault, Refused

AGENDA, RULES, SEASON = "agenda", "rules", "season"  # where a person looks who is told that something is not there


class NoYard(Refused):
    """Nothing can be planned while no yard is set."""

    def __init__(self) -> None:
        write = "afterpull init, which asks for what it needs, or afterpull init --from yard.yaml"
        super().__init__([Diagnostic("ledger", 0, 0, "no yard is set yet", write)])


class Remedied(Fault):
    """`write` is the command; on the page `page` are the words, and `task` the one whose page has the remedy, or `look` the list that shows what there is."""

    def __init__(self, message: str, write: str, *, page: str = "", task: str = "", look: str = "") -> None:
        super().__init__(message, write)
        self.page, self.task, self.look = page, task, look


class AtField(Fault):
    """What is wrong with one `field` of a form, beside which it is shown; "" where it is of no field alone."""

    def __init__(self, message: str, write: str, field: str) -> None:
        super().__init__(message, write)
        self.field = field


class NotPlanned(Remedied):
    """Nothing that the plan holds is named so; `near` is what is."""

    def __init__(self, message: str, near: str = "") -> None:
        page = f"Write: {near}" if near else ""
        super().__init__(message, near or "afterpull agenda --all, for what is planned", page=page, look=AGENDA)


class Standing(Remedied):
    """What was recorded of a task does not go with it; it may be taken back."""

    def __init__(self, message: str, task: str) -> None:
        super().__init__(message, f"afterpull undo {task}, if it is not so", page="If that is not so, take it back there.", task=task)
