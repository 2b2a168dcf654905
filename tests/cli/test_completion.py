"""Words completed in the shell, asked for as bash asks (argcomplete's protocol)."""

import os
import subprocess
import sys

import pytest


def completed(line, tmp_path):
    """What may stand in place of the last word of the line."""
    out = tmp_path / "answer"
    asked = {
        "_ARGCOMPLETE": "1",
        "_ARGCOMPLETE_STDOUT_FILENAME": str(out),
        "_ARGCOMPLETE_IFS": "\n",
        "COMP_LINE": line,
        "COMP_POINT": str(len(line)),
    }
    code = "from dotloupe.cli import main; main()"
    subprocess.run([sys.executable, "-c", code], env=os.environ | asked, check=False)
    return [word.strip() for word in out.read_text("utf-8").split("\n")]


@pytest.mark.parametrize(
    ("line", "among"),
    [
        ("dotloupe ra", "rank"),
        ("dotloupe track sh", "show"),
        ("dotloupe rank --pict", "--picture"),
        ("dotloupe simulate --mis", "--misaligned"),
    ],
)
def test_command_and_option_are_completed(line, among, tmp_path):
    assert among in completed(line, tmp_path)
