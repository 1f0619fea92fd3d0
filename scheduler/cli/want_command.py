"""`afterpull want`: packages or jars of a lot that are wanted by a time, and what is made ready for it."""

from __future__ import annotations

import click

from scheduler.cli.asking import agreed
from scheduler.cli.errors import refusals
from scheduler.cli.ledger_option import ledger_option, opened


@click.command(epilog="Example: afterpull want 12 packages of a by 'sat 5 sep 08:00', or: afterpull want")
@click.argument("words", nargs=-1, metavar="[N packages|jars of LOT by T]")
@click.option("--for", "who", default="", metavar="WHO", help="Who wants them; stays in the ledger, and on the sheet of afterpull record.")
@click.option("--withdraw", metavar="NAME", help="Not wanted any more: its name, as this command lists it.")
@click.option("--yes", is_flag=True, help="Do not ask where it cannot be ready by then.")
@ledger_option
def want(words: tuple[str, ...], who: str, withdraw: str | None, yes: bool, ledger: str | None) -> None:
    """What is wanted is taken out in time, thawed closed, labelled and put in crates; without a want it stays frozen. Without words: list the wants.

    "by market" is by the next opening of the market in the yard file.
    """
    with refusals():
        from scheduler.application import tell, wants
        from scheduler.application.clock import now
        from scheduler.application.ledger_view import view_at
        from scheduler.diagnostics import Fault

        moment = int(now().timestamp())
        with opened(ledger) as book:
            view = view_at(book, moment)
            if withdraw is not None:
                if words:
                    raise Fault("a want is withdrawn by its name alone", f"afterpull want --withdraw {withdraw}")
                fact, told = wants.withdrawn(view, withdraw)
                tell.take_back(book, [fact], moment)
                click.echo(told)
            elif words:
                answer = wants.want(view, " ".join(words), who, moment)
                if answer.doubt is None or agreed(answer.doubt, f"afterpull want {' '.join(words)} --yes", yes=yes):
                    book.append([answer.fact], moment)
                    click.echo(answer.words)
            else:
                click.echo("\n".join(wants.listed(view, moment)) or f"Nothing is wanted. {wants.SAMPLE}")
