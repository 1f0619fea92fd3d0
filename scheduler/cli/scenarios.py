"""`afterpull rules test`: the scenarios that rule files carry."""

from __future__ import annotations

from pathlib import Path

import click

from scheduler.cli.errors import InputRefused, refusals


@click.command(short_help="Run the scenarios of rule files.", epilog="Example: afterpull rules test my_rules.yaml")
@click.argument("files", nargs=-1, metavar="[FILE]...", type=click.Path(path_type=Path))
@click.option("-v", "--verbose", is_flag=True, help="Name every scenario, not only those that fail.")
def test(files: tuple[Path, ...], verbose: bool) -> None:
    """Run the scenarios of rule files; without a FILE, of all that come with the program."""
    with refusals():
        from scheduler.application.files import read_bytes
        from scheduler.application.scenarios import bundled_files, run_file

        told = [one for file in files or bundled_files() for one in run_file(read_bytes(file), str(file))]
    for one in told:
        if verbose:
            click.echo(f"{'FAILED' if one.faults else 'ok':6} {Path(one.path).name}:{one.line} {one.name}")
    faults = [str(fault) for one in told for fault in one.faults]
    failed = sum(1 for one in told if one.faults)
    if not told:
        raise InputRefused('no scenario was found\n    write "scenarios:" with at least one story and what it expects')
    if faults:
        raise InputRefused("\n".join(faults) + f"\n{len(told) - failed} passed, {failed} failed")
    click.echo(f"{len(told)} passed, 0 failed")
