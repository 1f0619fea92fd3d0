"""Input that no keeper meant: too many keys, too much of it, from a year that cannot be. Refused in words, and soon."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
HARVEST = (EXAMPLES / "kestrel_bank/ridge-2.yaml").read_text(encoding="utf-8")
YARD = EXAMPLES / "kestrel_bank/yard.yaml"
LONG = 120  # s, in which no command here may hang; a search through all keys for each key took four minutes for a hundred thousand


def refused(*words: str | Path) -> list[str]:
    """The lines in which a command refuses its input, without a traceback."""
    result = subprocess.run([sys.executable, "-m", "scheduler", *map(str, words)], capture_output=True, text=True, timeout=LONG, check=False)
    assert result.returncode == 2, result.stderr[-2000:]
    assert "Traceback" not in result.stderr
    return result.stderr.splitlines()


@pytest.mark.parametrize("count", [1_000, pytest.param(100_000, marks=pytest.mark.slow)])
def test_each_of_many_unknown_keys_is_named_with_its_line(tmp_path: Path, count: int) -> None:
    """However many there are: no key makes the others slower."""
    harvest = tmp_path / "harvest.yaml"
    harvest.write_text(HARVEST + "".join(f"k{number}: 1\n" for number in range(count)), encoding="utf-8")
    first = len(HARVEST.splitlines()) + 1
    lines = refused("plan", harvest, "--yard", YARD)
    assert lines[::2] == [f'{harvest}:{first + number}:1: the file: unknown key "k{number}"' for number in range(count)]
