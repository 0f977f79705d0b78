"""The command line as the fuzz tests use it: whatever it is given, it ends with a documented exit code and in words."""

from __future__ import annotations

from collections.abc import Collection

from click.testing import Result
from typer.testing import CliRunner

from stemwall.cases.cli import commands

DONE, NOT_HELD, BAD_INPUT, FAILED, INTERRUPTED = 0, 1, 2, 3, 130


def stemwall(*arguments: object, codes: Collection[int] = (DONE, BAD_INPUT)) -> Result:
    """Run a command in this process, without the guard around it that hides what nobody expected.

    An exception that is not the end of the program fails the test with its own trace.
    """
    result = CliRunner().invoke(commands.app, [str(one) for one in arguments])
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    assert result.exit_code in codes, result.output
    assert "Traceback" not in result.output
    if result.exit_code == BAD_INPUT:
        assert result.output.strip()
    return result
