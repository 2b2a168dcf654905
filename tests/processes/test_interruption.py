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


STARTED = """
import os, signal
from joblib.externals.loky.backend import spawn
from dotloupe.processes.tasks import begin_at_once

def blocked():
    return signal.SIGINT in signal.pthread_sigmask(signal.SIG_BLOCK, [])

def noted(*given, **more):
    found = prepare(*given, **more)
    at_start.append(blocked())
    return found

at_start, prepare, spawn.get_preparation_data = [], spawn.get_preparation_data, noted
os.cpu_count = lambda: 2
list(begin_at_once([int, int]))
print(at_start, blocked())
"""


@pytest.mark.skipif(sys.platform == "win32", reason="signals do not wait there")
def test_it_waits_while_the_first_worker_starts_too():
    """In a process of its own, as what else is started with the first worker is started once."""
    command = [sys.executable, "-c", STARTED]
    made = subprocess.run(command, capture_output=True, text=True, check=True)
    assert made.stdout.strip() == "[True, True] False"


@pytest.mark.skipif(sys.platform == "win32", reason="signals do not wait there")
def test_a_process_begins_undisturbed_and_the_next_as_ever():
    def blocked():
        command = [sys.executable, "-c", BLOCKED]
        return subprocess.run(command, capture_output=True, text=True, check=True).stdout.strip()

    with workers_undisturbed():
        assert blocked() == "True"
    assert blocked() == "False"
