"""Ctrl-C while worker processes start: it reaches the command, and no worker."""

import os
import signal
import subprocess
import sys

import pytest

from dotloupe.processes.interruption import workers_undisturbed

BLOCKED = "import signal; print(signal.SIGINT in signal.pthread_sigmask(signal.SIG_BLOCK, []))"


@pytest.fixture
def heeded():
    """As in a terminal, whatever this process inherited."""
    earlier = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, earlier)


@pytest.mark.skipif(sys.platform == "win32", reason="signals do not wait there")
@pytest.mark.usefixtures("heeded")
def test_it_is_not_lost_while_they_start():
    with pytest.raises(KeyboardInterrupt), workers_undisturbed():
        os.kill(os.getpid(), signal.SIGINT)


@pytest.mark.skipif(sys.platform == "win32", reason="signals do not wait there")
def test_a_process_begins_undisturbed_and_the_next_as_ever():
    def blocked():
        command = [sys.executable, "-c", BLOCKED]
        return subprocess.run(command, capture_output=True, text=True, check=True).stdout.strip()

    with workers_undisturbed():
        assert blocked() == "True"
    assert blocked() == "False"
