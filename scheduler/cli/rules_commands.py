"""`afterpull rules`: check, test, list and show rule files, and print their schema."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from scheduler.cli.errors import InputRefused, refusals

if TYPE_CHECKING:
    from datetime import date

    from scheduler.rules.rule_set import Rules

MOST_DEEP = 6  # steps in a row that are drawn further to the right
WITH = click.option("--rules", "names", multiple=True, metavar="R", help="An overlay by name or a rule file of your own; may be repeated.")


YARD = click.option("--yard", metavar="YARD.yaml", type=click.Path(path_type=Path), help="The rules in force in this yard: its overlays, files and changes.")


@click.group(epilog="Example: afterpull rules check my_rules.yaml")
def rules() -> None:
    """Check, test, list and show rule files."""


@rules.command(short_help="Say everything that is wrong in rule files.", epilog="Example: afterpull rules check my_rules.yaml")
@click.argument("files", nargs=-1, metavar="[FILE]...")
@YARD
def check(files: tuple[str, ...], yard: Path | None) -> None:
    """Say everything that is wrong in rule files; without a FILE, in all that come with the program, or with --yard in all that are in force there."""
    with refusals():
        from scheduler.rules.findings import Finding
        from scheduler.rules.load import check as checked

        told: list[str] = []
        if yard is not None:
            _loaded(files, yard)
            click.echo(f"nothing is wrong in the rules of {yard}")
            return
        from scheduler.application.clock import now
        from scheduler.application.packs import account, faults_of_pack, pack_of, unpacked

        found = checked(unpacked(files), today=now().date())
        for pack in filter(None, map(pack_of, files)):
            found += [Finding(fault) for fault in faults_of_pack(pack)]
            told += [*account(pack)] if not any(not one.advice for one in found) else []
    for finding in found:
        if finding.advice:
            click.echo(f"advice: {finding.diagnostic}")
    wrong = [str(finding.diagnostic) for finding in found if not finding.advice]
    if wrong:
        raise InputRefused("\n".join(wrong))
    if told:
        click.echo("\n".join(told))
    click.echo("nothing is wrong in " + (", ".join(files) or "the bundled rule files"))


@rules.command(name="list", short_help="List cards, or numbers that are old or assumed.", epilog="Example: afterpull rules list --basis assumed")
@WITH
@click.option("--basis", type=click.Choice(["published", "common practice", "assumed"]), help="List the parameters that rest on this.")
@click.option("--stale", metavar="AGE", help="List the parameters last checked longer ago: 3y, 18 months, 90 d.")
@click.option("--names", "vocabulary", is_flag=True, help="List the names that an expression in a rule file may read.")
@click.option("--as-of", metavar="DATE", help="The day from which AGE counts back. Default: today.")
@YARD
def list_(names: tuple[str, ...], yard: Path | None, basis: str | None, stale: str | None, as_of: str | None, vocabulary: bool) -> None:
    """List the cards of every rule set, or with --basis or --stale its parameters."""
    if vocabulary:
        from scheduler.rules.listing import names_read

        click.echo("\n".join(names_read()))
        return
    with refusals():
        from scheduler.outputs.text.rules_text import parameter_line, sets_lines

        found = _loaded(names, yard)
        if basis or stale:
            from scheduler.rules.listing import parameters

            before = _cutoff(stale, as_of) if stale else None
            lines = [parameter_line(of, parameter) for of, parameter in parameters(found, basis, before)]
        else:
            lines = sets_lines(found)
    click.echo("\n".join(lines) if lines else "none")


@rules.command(short_help="Show one card and the numbers it reads.", epilog='Example: afterpull rules show "cut comb/drain"')
@WITH
@YARD
@click.argument("card", metavar="SET/CARD")
def show(names: tuple[str, ...], yard: Path | None, card: str) -> None:
    """Show one card as it is in force, with the parameters it reads and what they rest on."""
    with refusals():
        from scheduler.outputs.text.rules_text import card_lines

        found = _loaded(names, yard)
        lines = card_lines(found, found.card(card))
    click.echo("\n".join(lines))


@rules.command(short_help="Show what follows what in a rule set.", epilog='Example: afterpull rules flow "cut comb"')
@WITH
@YARD
@click.argument("name", metavar="SET")
def flow(names: tuple[str, ...], yard: Path | None, name: str) -> None:
    """Show what follows what in a rule set: each card behind what it waits for, with its holds, limits and hours."""
    with refusals():
        from scheduler.cli.terminal import coloured, text_width
        from scheduler.outputs.text.wrapping import Pen
        from scheduler.rules.flow import flow as steps_of

        steps, pen = steps_of(_loaded(names, yard), name), Pen(text_width(), coloured())
    if not steps:
        click.echo(f'"{name}" has no cards of its own')
    several = len({step.for_ for step in steps}) > 1
    for step in steps:
        lead = "  " * min(step.depth, MOST_DEEP)
        of = f" ({', '.join(step.for_)})" if several else ""
        click.echo("\n".join(pen.wrapped(f"{step.name}{of}", first=lead, indent=len(lead), style="heading")))
        for words in step.says:
            click.echo("\n".join(pen.wrapped(words, first=f"{lead}  - ", indent=len(lead) + 4)))


@rules.command(short_help="Write a rule file of your own that works.", epilog="Example: afterpull rules new mine.yaml")
@click.argument("file", type=click.Path(path_type=Path))
def new(file: Path) -> None:
    """Write a rule file of your own, with a card, a number and a scenario that hold; rulesets/README.md has ten more jobs."""
    with refusals():
        import re

        from scheduler.application.clock import now
        from scheduler.application.files import write_bytes
        from scheduler.application.templates import rules_text
        from scheduler.diagnostics import Fault
        from scheduler.rules.load import load

        name = re.sub(r"[^a-z0-9]+", " ", file.stem.lower()).strip()
        if file.exists():
            raise Fault(f"{file} is there already, and stays as it is", "another name")
        if file.suffix not in (".yaml", ".yml") or not name or name in load().sets:
            raise Fault(f'"{file.name}" cannot be a rule file of your own', "a name of your own that ends in .yaml, such as mine.yaml")
        write_bytes(file, rules_text(name, now().date()).encode())
    click.echo(f"{file} is written. To check it: afterpull rules check {file}, and: afterpull rules test {file}")


@rules.command(short_help="Print the JSON Schema of a file, or its keys.", epilog="Example: afterpull rules schema yard > yard.schema.json")
@click.argument("kind", default="rules", type=click.Choice(["rules", "yard", "harvest", "channels", "pack"]))
@click.option("--text", is_flag=True, help="Print the keys, each with its sentence, to read.")
@click.option("--yard", metavar="YARD.yaml", type=click.Path(path_type=Path), help="With the products that the packs of this yard bring.")
def schema(kind: str, text: bool, yard: Path | None) -> None:
    """Print the JSON Schema (draft 2020-12) of a rule file, or of another KIND of file that you write, for editors."""
    import json

    from scheduler.application.file_schemas import as_text, json_schema

    with refusals():
        products = None if yard is None else _loaded((), yard).products.known
    click.echo("\n".join(as_text(kind)) if text else json.dumps(json_schema(kind, products), ensure_ascii=False, indent=2).encode())


def _loaded(names: tuple[str, ...], yard: Path | None) -> Rules:
    """The rules in force: of a yard, or what comes with the program, with those named besides. Raises `Refused` and `Fault`."""
    if yard is None:
        from scheduler.application.packs import unpacked
        from scheduler.rules.load import load

        return load(unpacked(names))
    from scheduler.application.files import read_bytes
    from scheduler.application.plan_files import rules_of
    from scheduler.facts.yard import read_yard

    return rules_of(read_yard(read_bytes(yard), str(yard)), names)


def _cutoff(stale: str, as_of: str | None) -> date:
    from scheduler.application.clock import now
    from scheduler.rules.listing import cutoff

    return cutoff(stale, as_of or now().date().isoformat())


@rules.command(short_help="Run the scenarios of rule files.", epilog="Example: afterpull rules test my_rules.yaml")
@click.argument("files", nargs=-1, metavar="[FILE]...", type=click.Path(path_type=Path))
@click.option("-v", "--verbose", is_flag=True, help="Name every scenario, not only those that fail.")
@click.option("--with", "others", multiple=True, metavar="R", help="With this rule file laid over them: what your change does to what is promised.")
def test(files: tuple[Path, ...], verbose: bool, others: tuple[str, ...]) -> None:
    """Run the scenarios of rule files; without a FILE, of all that come with the program."""
    with refusals():
        from scheduler.application.files import read_bytes
        from scheduler.application.packs import unpacked
        from scheduler.application.scenarios import bundled_files, run_file

        _loaded(others, None)  # what is wrong in these is said once, not in every scenario
        own = [Path(name) for name in unpacked(str(file) for file in files)]
        told = [one for file in own or bundled_files() for one in run_file(read_bytes(file), str(file), tuple(unpacked(others)))]
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
