"""The ``advisor`` command: a thin group whose commands are imported only when they are run.

Exit status: 0 an answer was printed, 1 refused with a sentence (every ``AdvisorError``), 2 wrong usage, 130
interrupted, 141 the reader of a pipe went away. A user never sees a traceback unless ``ADVISOR_DEBUG=1`` is
set.
"""

from __future__ import annotations

import errno
import gc
import os
import sys
from collections.abc import Sequence
from importlib import import_module
from typing import TYPE_CHECKING

import click

import advisor
from advisor.errors import AdvisorError

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem

EXIT_REFUSED = 1
EXIT_USAGE = 2
EXIT_INTERRUPTED = 130  # 128 + SIGINT, as shells report it
EXIT_BROKEN_PIPE = 141  # 128 + SIGPIPE

#: New objects between two searches for unreachable cycles (Python's own: 700). Imports alone make a hundred
#: searches that find nothing, a tenth of a quick command. Chosen by measuring; common practice, no source.
GC_THRESHOLD = 50_000
#: numpy's matrix library starts a thread a processor, which waits busily for a tenth of a second; nothing here
#: multiplies large matrices. Where a person has set it, it stays.
ONE_THREAD = ("OPENBLAS_NUM_THREADS", "1")

#: name -> (module and attribute, one line of help). The help stands here so that ``advisor --help`` imports
#: no command, and one command never pays for another's libraries.
COMMANDS: dict[str, tuple[str, str]] = {
    "day": ("advisor.commands.day:command", "Rate today's lessons at a station, hour by hour."),
    "lesson": ("advisor.commands.lesson:command", "Print one lesson's card for an hour, with its figures."),
    "morning": ("advisor.commands.morning:command", "Write the dispatch desk's summary for many stations."),
    "whatif": ("advisor.commands.whatif:command", "Work out crab and bank for a wind, with no report."),
    "why": ("advisor.commands.why:command", "Follow a rating to its rule, value, limit and source."),
    "rules": ("advisor.commands.rules:command", "List the rules, or explain one."),
    "decode": ("advisor.commands.decode:command", "Decode METAR, TAF or winds aloft, group by group."),
    "school": ("advisor.commands.school:command", "Start or check the school's own file."),
    "store": ("advisor.commands.store:command", "Show or prune the reports kept on disk."),
    "season": ("advisor.commands.season:command", "Find the months and hours that suit each lesson."),
}


class LazyGroup(click.Group):
    """A group that knows its commands by name and imports one only to run it."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names of the commands, in the order a reader wants them."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import and return one command; ``None`` when there is none of that name."""
        if cmd_name not in self.list_commands(ctx):
            return None
        module, _, attribute = COMMANDS[cmd_name][0].partition(":")
        command = getattr(import_module(module), attribute)
        if not isinstance(command, click.Command):
            raise TypeError(f"{module}:{attribute} is not a click command")
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the list of commands from the table above, importing none."""
        rows = [(name, COMMANDS[name][1]) for name in self.list_commands(ctx)]
        if rows:
            with formatter.section("Commands"):
                formatter.write_dl(rows)

    def shell_complete(self, ctx: click.Context, incomplete: str) -> list[CompletionItem]:
        """Complete command names from the table above, importing none."""
        from click.shell_completion import CompletionItem

        names = [name for name in self.list_commands(ctx) if name.startswith(incomplete)]
        found = [CompletionItem(name, help=COMMANDS[name][1]) for name in names]
        return [*found, *click.Command.shell_complete(self, ctx, incomplete)]


def _print_version(ctx: click.Context, param: click.Parameter, value: bool) -> None:
    if value and not ctx.resilient_parsing:
        click.echo(f"advisor {advisor.__version__}")
        ctx.exit()


@click.group(cls=LazyGroup, context_settings={"help_option_names": ["-h", "--help"]})
@click.option(
    "--version",
    is_flag=True,
    expose_value=False,
    is_eager=True,
    callback=_print_version,
    help="Print the version.",
)
def cli() -> None:
    """Which ground-reference lessons does the day suit, and what crab and bank will be seen?

    Reads METAR, TAF and winds aloft, works out the wind geometry of each lesson and rates it for the stage of
    the person flying. It describes, cautions and ranks; the instructor decides.
    """


def run(args: Sequence[str] | None = None) -> int:
    """Run the command and return its exit status; writes to stdout and stderr, never raises.

    Parameters
    ----------
    args : sequence of str, optional
        Arguments after the command's name; the process's own when left out.

    Returns
    -------
    int
        0 answered, 1 refused, 2 wrong usage, 130 interrupted, 141 broken pipe. With ``ADVISOR_DEBUG=1`` an
        unexpected exception is let through instead.
    """
    if "_ADVISOR_COMPLETE" in os.environ:  # the shell asks for completions; click answers and exits
        cli.main(prog_name="advisor")
    try:
        # not cli.main(): that hides whether a pipe broke or a command failed
        with cli.make_context("advisor", list(sys.argv[1:] if args is None else args)) as ctx:
            result = cli.invoke(ctx)
        sys.stdout.flush()
    except click.exceptions.Exit as exc:
        return exc.exit_code
    except AdvisorError as exc:
        return _refuse(str(exc))
    except click.ClickException as exc:
        exc.show()
        return exc.exit_code
    except (click.Abort, KeyboardInterrupt):
        click.echo("Interrupted.", err=True)
        return EXIT_INTERRUPTED
    except BrokenPipeError:
        return EXIT_BROKEN_PIPE
    except OSError as exc:
        if exc.errno not in (errno.ENOSPC, errno.EDQUOT) or os.environ.get("ADVISOR_DEBUG") == "1":
            return _unexpected(exc)
        return _refuse(f"The answer could not be written: {exc.strerror}. Make room, or write it elsewhere.")
    except SystemExit as exc:
        return _exit_code(exc)
    except Exception as exc:
        return _unexpected(exc)
    return result if isinstance(result, int) else 0


def main() -> None:
    """Entry point of the ``advisor`` script."""
    gc.set_threshold(GC_THRESHOLD)
    os.environ.setdefault(*ONE_THREAD)  # before a command imports numpy
    for name, mode in (("stdin", "r"), ("stdout", "w"), ("stderr", "w")):
        if getattr(sys, name) is None:  # a job started with its streams closed: nothing to read, nobody to tell
            setattr(sys, name, open(os.devnull, mode))  # noqa: SIM115
    for stream in (sys.stdin, sys.stdout):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:  # a damaged byte or a terminal without a degree sign is no reason to fail
            reconfigure(errors="replace")
    status = run()
    try:
        sys.stdout.flush()
    except BrokenPipeError:
        status = EXIT_BROKEN_PIPE
    except OSError:  # a full disk: said already
        status = status or EXIT_REFUSED
    if status == EXIT_BROKEN_PIPE:
        # what is still buffered would raise once more when the interpreter closes the stream
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    gc.freeze()  # the process ends and its memory goes back at once: no last search for cycles
    sys.exit(status)


def _refuse(sentence: str) -> int:
    # a message may quote a report, and a report may carry terminal control characters
    shown = "".join(c if c.isprintable() or c == "\n" else "?" for c in sentence)
    click.echo(f"advisor: {shown}", err=True)
    return EXIT_REFUSED


def _unexpected(exc: Exception) -> int:
    if os.environ.get("ADVISOR_DEBUG") == "1":
        raise exc
    return _refuse(_apology(exc))


def _apology(exc: Exception) -> str:
    what = " ".join(f"{type(exc).__name__}: {exc}".split())[:200]
    return (
        f"sorry, this is a fault of the program, not of what you typed ({what}). Please report it to the"
        " maintainers with the command and the reports used; ADVISOR_DEBUG=1 shows where it happened."
    )


def _exit_code(exc: SystemExit) -> int:
    if exc.code is None:
        return 0
    return exc.code if isinstance(exc.code, int) else _refuse(str(exc.code))
