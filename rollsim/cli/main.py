"""The command `rollsim`: finds the subcommand, maps what goes wrong to exit codes."""

from __future__ import annotations

import atexit
import gc
import os
import select
import signal
import sys
import warnings
from importlib import import_module
from io import TextIOWrapper
from threading import Event, Thread
from typing import Any, NoReturn, TextIO

import click

from rollsim.cautions import CAUTION
from rollsim.cli.stopped import begin, course
from rollsim.errors import (
    EXIT_BUG,
    EXIT_DONE,
    EXIT_INTERRUPTED,
    EXIT_REFUSED,
    RollsimError,
    printable,
)

COMMANDS: dict[str, str] = {
    "example": "List the example scenarios that come with the program, or copy one here.",
    "check": "Read a scenario, say what is wrong with it or what will run.",
    "keys": "The keys of a scenario file, and what each means.",
    "stability": "The static picture: GM, loll, vanishing angle, GZ and the moving metacentre.",
    "criteria": "Published static criteria on every loading condition, and the greatest KG.",
    "decay": "Damping from a decay record: time and angle of a roll that dies out.",
    "hull": "A hull from its stations: hydrostatics, KN, openings, levers in waves.",
    "loading": "The loading sheets of a scenario: items, moments, free surfaces, GM, draughts.",
    "run": "Run a scenario and write its result.",
    "critical": "The value of one key at which she fails with a set probability.",
    "replay": "Make one run of a result again, with its histories.",
    "summary": "Print the margins of a result again.",
    "report": "Compare the loading conditions of results in one HTML file.",
    "export": "Write one run of a result as CSV, for spreadsheets and animation programs.",
    "plot": "Draw histories, phase portraits and margins of a result.",
    "animate": "Draw a run as an animation: the rolling section, G, B, M and the lever GZ.",
    "equilibria": "Follow every heel at which the ship rests, over one key.",
    "heel-cause": "Say how likely list, loll or both are, from what is observed.",
    "basin": "Map what becomes of the ship over start roll and roll rate.",
    "response": "Follow the steady responses to a regular sea, through folds and flips.",
    "page": "Make a page for the classroom that plays the runs of results.",
    "live": "Make a page with the ship of a scenario that answers while it is touched.",
}
"""Name and one line of help of every command; its code is `rollsim.cli.<name>`, read on use."""


STOPS = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)
"""A shutdown or a closed terminal ends a study as Ctrl-C does: finished runs are kept."""
GRACE = 1.2
"""Seconds that an interrupted command has to put things in order by itself."""


class _Commands(click.Group):
    """A group that imports a command only when it is called, so that help comes at once."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        command: click.Command = import_module(f"rollsim.cli.{cmd_name.replace('-', '_')}").command
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        if args and args[0] not in COMMANDS and not args[0].startswith("-"):
            from difflib import get_close_matches

            near = get_close_matches(args[0], COMMANDS, n=1)
            hint = f" Did you mean '{near[0]}'?" if near else ""
            ctx.fail(f"No command '{printable(args[0])}'.{hint}")
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


def _version(ctx: click.Context, _: click.Parameter, asked: bool) -> None:
    if asked:
        from importlib.metadata import version

        click.echo(f"rollsim {version('rollsim')}")
        ctx.exit()


@click.group(cls=_Commands, epilog=CAUTION, context_settings={"max_content_width": 100})
@click.option(
    "--version", is_flag=True, is_eager=True, expose_value=False, callback=_version,
    help="Print the version and leave.",
)  # fmt: skip
def rollsim() -> None:
    """Roll motion of a ship on her righting levers: where she rests, how she rolls, what she
    survives, and by what margin."""


def main(arguments: list[str] | None = None) -> None:
    """Run the command line and leave with its exit code."""
    # A terminal that has no "°" shows "?": no reason to fail.
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="replace")
    warnings.showwarning = _show_warning
    # Before numpy comes: no matrix here is worth the threads that it would start.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    # Half a million objects live to the end: fewer looks for garbage among them.
    gc.set_threshold(100_000, 20, 100)
    for stop in STOPS:
        if signal.getsignal(stop) == signal.SIG_DFL:
            signal.signal(stop, signal.default_int_handler)
    sys.unraisablehook = _unraisable
    _watch_stops()
    code = run(arguments)
    if code == EXIT_INTERRUPTED:
        atexit.register(_leave)
    gc.freeze()  # what lives now goes with the process: Python need not look through it once more
    sys.exit(code)


def _leave() -> NoReturn:
    """Leave with the code of an interruption: Python itself would end by the signal instead."""
    sys.stdout.flush()
    os._exit(EXIT_INTERRUPTED)


def _unraisable(lost: sys.UnraisableHookArgs) -> None:
    """A stop that comes while a library calls back into Python is lost there without harm: the
    watch ends the process all the same. Anything else is told as Python does."""
    if not issubclass(lost.exc_type or Exception, KeyboardInterrupt):
        sys.__unraisablehook__(lost)


def _show_warning(
    message: Warning | str,
    category: type[Warning],
    filename: str,
    lineno: int,
    file: TextIO | None = None,
    line: str | None = None,
) -> None:
    """What the program warns of by itself in one line; what libraries warn of, as they do."""
    text = str(message)
    if category is not UserWarning:
        text = warnings.formatwarning(message, category, filename, lineno, line).strip()
    click.echo(f"warning: {printable(text)}", err=True)


_stopping = Event()
"""Set once the process has been told to stop."""


def _watch_stops() -> None:
    """End the process GRACE after the first Ctrl-C and at once on the second, whatever it does.

    Python itself waits for compiled code, and for a library that holds on. Files survive that: all
    are written aside, and finished runs lie on the disk.
    """
    reading, writing = os.pipe()
    os.set_blocking(writing, False)
    signal.set_wakeup_fd(writing, warn_on_full_buffer=False)

    def stopped() -> bool:
        return not set(os.read(reading, 64)).isdisjoint(STOPS)

    def watch() -> NoReturn:
        while not stopped():
            pass
        _stopping.set()
        while select.select([reading], [], [], GRACE)[0] and not stopped():
            pass
        cursor = "\x1b[?25h\n" if sys.stderr.isatty() else ""  # a progress bar hides it
        course.tell(lambda words: os.write(sys.stderr.fileno(), f"{cursor}{words}".encode()))
        os._exit(EXIT_INTERRUPTED)

    Thread(target=watch, daemon=True).start()


def run(arguments: list[str] | None = None) -> int:
    """Run the command line; the exit code. Only a bug of the program's own shows a traceback."""
    _stopping.clear()
    begin(next(iter(arguments or sys.argv[1:]), ""))
    code = _outcome(arguments)
    if code == EXIT_INTERRUPTED:
        course.tell(lambda words: click.echo(words, nl=False, err=True))
    return code


def _outcome(arguments: list[str] | None) -> int:
    """The exit code of the command, what went wrong told."""
    try:
        code: Any = rollsim.main(arguments, prog_name="rollsim", standalone_mode=False)
    except RollsimError as error:
        click.echo(str(error), err=True)
        return EXIT_REFUSED
    except (click.exceptions.Abort, KeyboardInterrupt) as error:
        # click takes the end of a file for the end of an answer; older ones do not name the cause
        if isinstance(error.__context__, EOFError):
            return _bug(error.__context__)
        return EXIT_INTERRUPTED
    except click.ClickException as error:
        return _misused(error)
    except SystemExit:
        # So click and rich leave when the reader has left, as `| head` does: that is no failure.
        return EXIT_DONE
    except OSError as error:
        click.echo(f"the system refuses: {printable(str(error))}", err=True)
        return EXIT_REFUSED
    except Exception as error:
        if _stopping.is_set():
            # A compiler or a library that was broken off may call it by any name.
            return EXIT_INTERRUPTED
        return _bug(error)
    return code if isinstance(code, int) else EXIT_DONE


def _misused(error: click.ClickException) -> int:
    """Say what is wrong with the arguments; a command without any shows its help."""
    context = getattr(error, "ctx", None)
    name = context.command_path if context else "rollsim"
    message = error.format_message()
    if message.startswith("Usage:"):
        error.show()
    else:
        click.echo(f"{name}: {printable(' '.join(message.split()))}", err=True)
        click.echo(f"  {name} --help says what is allowed", err=True)
    return EXIT_REFUSED


def _bug(error: BaseException) -> int:
    import traceback

    traceback.print_exception(error)
    click.echo(
        "This is a bug in rollsim, not in your input; please report the lines above.", err=True
    )
    return EXIT_BUG
