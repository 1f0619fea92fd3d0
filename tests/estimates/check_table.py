"""The checks as one Markdown table: `python -m tests.estimates.check_table [--write]` prints it, or writes CHECKS.md beside this file."""

from __future__ import annotations

import sys
from pathlib import Path

from tests.estimates.check_values import Check, every_check

PAGE = Path(__file__).with_name("CHECKS.md")
HEAD = """# Estimates, check by check

Printed by `python -m tests.estimates.check_table`; a test holds this file to its output. "Allowed" is the greatest difference the test lets pass.
A published value was printed by the source named; a reference was worked out by the method or library named, which shares no code with ours.

| topic | case | published | reference | ours | difference | allowed | unit | source |
|---|---|---:|---:|---:|---:|---:|---|---|
"""


def row(check: Check) -> str:
    """One line of the table."""
    published, reference = (f"{check.expected:.6g}", "") if check.published else ("", f"{check.expected:.6g}")
    off = "0" if check.expected == check.ours else f"{check.difference:+.2g}"
    return f"| {check.topic} | {check.case} | {published} | {reference} | {check.ours:.6g} | {off} | {check.allowed:.2g} | {check.unit} | {check.source} |"


def table() -> str:
    """The whole page."""
    checks = every_check()
    kinds = {kind: [check.holds for check in checks if check.published == (kind == "published")] for kind in ("published", "reference")}
    counts = ", ".join(f"{sum(held)} of {len(held)} {kind}" for kind, held in kinds.items())
    return HEAD + "\n".join(map(row, checks)) + f"\n\nChecks that hold: {counts}.\n"


if __name__ == "__main__":
    page = table()
    if "--write" in sys.argv[1:]:
        PAGE.write_text(page, "utf-8")
    else:
        sys.stdout.write(page)
    sys.exit(0 if all(check.holds for check in every_check()) else 1)
