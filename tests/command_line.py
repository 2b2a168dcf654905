"""The command run in the tests' own process: no start-up, and worker processes serve again."""

import contextlib
import io
import sys
from subprocess import CompletedProcess
from unittest import mock

from dotloupe.cli import command


def dotloupe(*words, cwd="."):
    """Run the command in a folder; its status, and what it said on each stream."""
    out, err = io.StringIO(), io.StringIO()
    with (
        contextlib.chdir(cwd),
        mock.patch.object(sys, "argv", ["dotloupe", *map(str, words)]),
        # how this process ends is the test runner's affair
        mock.patch.object(command, "end_when_terminated"),
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
    ):
        try:
            command.main()
        except SystemExit as ended:
            status = ended.code or 0
    return CompletedProcess(words, status, out.getvalue(), err.getvalue())
