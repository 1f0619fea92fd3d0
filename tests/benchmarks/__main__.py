"""Run every benchmark of this folder, each in a process of its own; exit 1 if one is over its bound."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path


def main(arguments: list[str]) -> int:
    """Run them in the order of their names and hand the arguments on. Returns the exit status."""
    over = []
    for path in sorted(Path(__file__).parent.glob("bench_*.py")):
        print(f"\n{path.stem}", flush=True)
        if subprocess.run([sys.executable, "-m", f"tests.benchmarks.{path.stem}", *arguments], check=False).returncode:
            over.append(path.stem)
    if over:
        print(f"\nover a bound, or failed: {', '.join(over)}")
    return 1 if over else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
