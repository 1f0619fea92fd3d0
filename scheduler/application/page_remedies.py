"""What a refusal says on the page, to somebody who holds a phone: what is wrong, what to type, and what to open; no command of the shell."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

from scheduler.application.refusals import AGENDA, RULES, SEASON, NoYard, Remedied
from scheduler.diagnostics import Diagnostic, Fault, Refused, without_passwords

LISTS = {AGENDA: ("/ahead", "What is planned"), RULES: ("/rules", "What rules there are"), SEASON: ("/season", "The season, with what was measured")}
NO_YARD = "No yard is set yet. That is done on the machine that serves this page."


class Remedy(NamedTuple):
    """The words of a refusal, and the page to open: its path, and what it is called. Both are empty where words are all there is."""

    words: str
    path: str = ""
    link: str = ""


def remedy(fault: Fault | Refused) -> Remedy:
    """What a page says instead of what was asked for."""
    if isinstance(fault, Remedied):
        words = f"{fault.message}. {fault.page}".strip()
        return Remedy(words, f"/task/{fault.task}", "Open the task") if fault.task else Remedy(words, *LISTS.get(fault.look, ()))
    if isinstance(fault, Fault):
        return Remedy(f"{fault.message}. Write: {fault.write}" if fault.write else f"{fault.message}.")
    return Remedy(NO_YARD if isinstance(fault, NoYard) else "\n".join(map(_of_file, fault.diagnostics)))


def _of_file(one: Diagnostic) -> str:
    """What is wrong in a file of the keeper, as one says it; the folder is of no use on a phone."""
    place = f"{Path(one.path).name}, line {one.line}: " if one.line else ""
    return without_passwords(f"{place}{one.message}{f'. Write: {one.write}' if one.write else ''}")
