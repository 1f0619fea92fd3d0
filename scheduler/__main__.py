"""`python -m scheduler` is `afterpull`."""

from scheduler.cli import main

main(prog_name="afterpull")
