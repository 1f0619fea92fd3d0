"""What is asked before it is done, and what is said where nobody can be asked."""

from __future__ import annotations

import pytest

from scheduler.cli import asking
from scheduler.diagnostics import Fault


def test_with_a_yes_nobody_is_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nor without one, where nobody sits at a terminal: then nothing is done, and the command that does it is named."""
    monkeypatch.setattr(asking, "at_terminal", lambda: False)
    assert asking.agreed("this would remove it", "afterpull undo --yes", yes=True)
    with pytest.raises(Fault, match="nothing was changed: this would remove it") as refused:
        asking.agreed("this would remove it", "afterpull undo --yes", yes=False)
    assert refused.value.write == "afterpull undo --yes, to do it"


@pytest.mark.parametrize("answer", [True, False])
def test_at_a_terminal_the_answer_counts(answer: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """The question begins with a capital."""
    asked = []

    def confirm(text: str) -> bool:
        asked.append(text)
        return answer

    monkeypatch.setattr(asking, "at_terminal", lambda: True)
    monkeypatch.setattr(asking.click, "confirm", confirm)
    assert asking.agreed("this would remove it", "x", yes=False) is answer
    assert asked == ["This would remove it. Do it?"]
