"""The command line: parse, call, print.  Exit status 0 fine, 1 findings, 2 wrong input.

The commands themselves stand in `commands/`, by theme.
"""

from __future__ import annotations

from typing import Any

import click

from modboard import __version__
from modboard.commands import fitting, lookup, making, workshop
from modboard.errors import ModboardError
from modboard.telling import clear_line

STOPPED = 130  # exit status of a program ended by Ctrl-C, common practice: 128 + signal 2


class Group(click.Group):
    """Answers every ModboardError with its one line and exit status 2; lists commands in the order of use."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the commands in the order that they were added in."""
        return list(self.commands)

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command, turning errors into messages."""
        try:
            return super().invoke(ctx)
        except ModboardError as error:
            clear_line()
            click.echo(str(error), err=True)
            ctx.exit(2)
        except KeyboardInterrupt:
            clear_line()
            click.echo("stopped by hand before there was a result; what was there before is as it was", err=True)
            ctx.exit(STOPPED)


@click.group(cls=Group, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="modboard")
def main() -> None:
    """Small two-layer boards that fit inside old machines, described in Python and proven before they are ordered.

    To begin: modboard new my_board.py, then modboard make my_board.py; README.md says what a design can say.
    """


for command in (  # in the order of use
    lookup.new, making.make, fitting.fit, making.check, making.preview, workshop.fab, workshop.bench, workshop.etch,
    workshop.panel, lookup.verify, lookup.repair, making.watch, lookup.parts, lookup.adapter,
):  # fmt: skip
    main.add_command(command)

if __name__ == "__main__":
    main()
