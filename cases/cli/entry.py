"""Where the program begins and how it ends: always with one of the documented exit codes, and never with a trace.

This is imported before anything else and imports nothing that takes time: from here on Ctrl-C ends the program in
order.
"""

from __future__ import annotations

import gc
import os
import signal
import sys
from contextlib import suppress
from types import FrameType
from typing import TYPE_CHECKING, NoReturn

from stemwall.cases.cli.exit_codes import BAD_INPUT, DONE, FAILED, INTERRUPTED

if TYPE_CHECKING:
    from sys import UnraisableHookArgs

#: the garbage collector looks seldom: imports make half a million objects that stay
COLLECTED = 100_000, 20, 20
SIGNALS = (signal.SIGINT, signal.SIGTERM)
#: those that were heard
_heard: list[int] = []


def main() -> None:
    """Run the command line."""
    for number in SIGNALS:
        if signal.getsignal(number) is not signal.SIG_IGN:
            signal.signal(number, _interrupt)
    sys.unraisablehook = _unraisable
    try:
        code = run()
    except KeyboardInterrupt:
        code = INTERRUPTED
    leave(code)


def run() -> int:
    """Run the command line and return the exit code, whatever happens."""
    gc.set_threshold(*COLLECTED)
    try:
        for stream in (sys.stdout, sys.stderr):
            if hasattr(stream, "reconfigure"):  # what a terminal has no letter for shall not end the program
                stream.reconfigure(errors="replace")
        from stemwall.cases.cli.commands import app

        app()
    except SystemExit as end:
        if isinstance(end.__context__, BrokenPipeError):
            return DONE  # who reads has seen enough
        return end.code if isinstance(end.code, int) else DONE if end.code is None else FAILED
    except KeyboardInterrupt:
        return _say("interrupted", INTERRUPTED)
    except BrokenPipeError:
        return DONE
    except Exception as error:
        if _heard:  # a library made something else of it
            return _say("interrupted", INTERRUPTED)
        return _failed(error)
    return DONE


def _failed(error: Exception) -> int:
    """Say what went wrong that no command expected, and return the exit code."""
    from stemwall.solver.model.errors import OutputError, PlaceError, told
    from stemwall.solver.results.stored_result import ResultError

    if "--debug" in sys.argv[1:]:
        import traceback

        traceback.print_exception(error)
    if isinstance(error, PlaceError | ResultError):
        return _say(told(error), BAD_INPUT)
    if isinstance(error, OutputError):
        return _say(told(error), FAILED)
    if isinstance(error, OSError) and error.strerror:
        return _say(": ".join([*filter(None, [str(error.filename or "")]), error.strerror]), FAILED)
    if isinstance(error, MemoryError):
        return _say("the memory of this machine is not enough", FAILED)
    how = "`stemwall --debug ...` shows where"
    return _say(f"internal error, please report it: {type(error).__name__}: {told(error)}; {how}", FAILED)


def _say(text: str, code: int) -> int:
    with suppress(OSError, ValueError, AttributeError):  # where nobody listens
        sys.stderr.write(text + "\n")
    return code


def leave(code: int) -> NoReturn:
    """End the program; what could not be printed is an error, unless nobody reads any more."""
    for number in SIGNALS:
        signal.signal(number, signal.SIG_IGN)
    for stream, descriptor in ((sys.stdout, 1), (sys.stderr, 2)):
        try:
            stream.flush()
        except (OSError, ValueError, AttributeError) as error:
            if isinstance(error, OSError) and not isinstance(error, BrokenPipeError):
                code = code or _say(f"what was to be printed could not be: {error.strerror}", FAILED)
            os.dup2(os.open(os.devnull, os.O_WRONLY), descriptor)
    sys.exit(code)


def _interrupt(number: int, frame: FrameType | None) -> None:
    _heard.append(number)
    raise KeyboardInterrupt


def _unraisable(found: UnraisableHookArgs) -> None:
    """Hear an interruption again that came where Python cannot raise it, between calls of compiled code."""
    if issubclass(found.exc_type, KeyboardInterrupt):
        from _thread import interrupt_main

        interrupt_main()
    else:
        sys.__unraisablehook__(found)
