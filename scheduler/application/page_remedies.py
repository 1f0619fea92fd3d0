"""What a refusal offers on the page, to somebody who holds a phone."""

from __future__ import annotations

from scheduler.diagnostics import Fault, Refused

REMEDIES = {  # what to tap, by the command that a refusal names; what the page cannot do is said to be done where it is served
    "agenda": "Ahead, for what is planned",
    "done": 'the task, then Done; under "In part, later, or not at all" an amount such as 6, or 40min',
    "log": "Log a harvest",
    "rules": "Rules, for what there is",
    "undo": "the machine that serves this page, to take it back: {command}",
}
ELSEWHERE = "the machine that serves this page: {command}"


def page_words(fault: Fault | Refused) -> str:
    """What is wrong, and what to write or to tap instead."""
    return f"{fault.message}. {on_page(fault.write)}" if isinstance(fault, Fault) and fault.write else str(fault)


def on_page(write: str) -> str:
    """What a refusal offers, for somebody who holds a phone: "Write: ..." what can be typed, "Open: ..." what is tapped instead of a command."""
    words = write.split()
    if words[:1] != ["afterpull"]:
        return f"Write: {write}"
    return f"Open: {REMEDIES.get(words[1].rstrip(','), ELSEWHERE).format(command=write)}"
