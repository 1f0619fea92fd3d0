"""The checks as one Markdown table: `python -m tests.estimates.check_table [--write]` prints it, or writes CHECKS.md beside this file."""

from __future__ import annotations

import sys
from pathlib import Path

from tests.estimates.published import Check, every_check

PAGE = Path(__file__).with_name("CHECKS.md")
HEAD = """# Estimates, check by check

Printed by `python -m tests.estimates.check_table`; a test holds this file to its output. "Allowed" is the greatest difference the test lets pass.

| topic | case | published | ours | difference | allowed | unit | source |
|---|---|---:|---:|---:|---:|---|---|
"""


def row(check: Check) -> str:
    """One line of the table."""
    numbers = " | ".join(f"{number:.6g}" for number in (check.published, check.ours))
    off = "0" if check.published == check.ours else f"{check.difference:+.2g}"
    return f"| {check.topic} | {check.case} | {numbers} | {off} | {check.allowed:.2g} | {check.unit} | {check.source} |"


def table() -> str:
    """The whole page."""
    checks = every_check()
    held = sum(check.holds for check in checks)
    return HEAD + "\n".join(map(row, checks)) + f"\n\n{held} of {len(checks)} checks hold.\n"


if __name__ == "__main__":
    page = table()
    if "--write" in sys.argv[1:]:
        PAGE.write_text(page, "utf-8")
    else:
        sys.stdout.write(page)
    sys.exit(0 if all(check.holds for check in every_check()) else 1)
