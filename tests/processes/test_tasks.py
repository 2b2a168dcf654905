"""Tasks in processes: in order, begun before a result is asked for, none lost with a process."""

import gc
import os
import time
import warnings
from functools import partial

import pytest
from joblib.externals.loky import get_reusable_executor

from dotloupe.processes.tasks import begin_at_once

HERE = os.getpid()
PATIENCE_S = 120


@pytest.fixture(autouse=True)
def two_cores(monkeypatch):
    """And new processes: those of an earlier test may be about to end."""
    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    get_reusable_executor().shutdown(kill_workers=True)


def tasks_of(count):
    """Tasks made here, as a process cannot import this file."""

    def process_of(number):
        return number, os.getpid()

    return [partial(process_of, number) for number in range(count)]


def comes(path):
    until = time.monotonic() + PATIENCE_S
    while not path.exists():
        assert time.monotonic() < until
        time.sleep(0.01)


def test_results_come_in_order_from_other_processes():
    made = list(begin_at_once(tasks_of(6)))
    assert [number for number, _ in made] == list(range(6))
    assert HERE not in {process for _, process in made}


@pytest.mark.parametrize(("count", "worth"), [(0, 1), (1, 1), (7, 4)])
def test_few_are_done_here(count, worth):
    made = list(begin_at_once(tasks_of(count), worth_a_process=worth))
    assert made == [(number, HERE) for number in range(count)]


def test_they_begin_before_a_result_is_asked_for(tmp_path):
    paths = [tmp_path / name for name in ("a", "b")]
    results = begin_at_once([partial(path.write_text, "begun") for path in paths])
    for path in paths:
        comes(path)
    assert list(results) == [5, 5]


def test_what_a_process_dies_of_is_done_here():
    here = HERE

    def dying(number):
        if os.getpid() != here:
            os._exit(1)
        return number

    assert list(begin_at_once([partial(dying, number) for number in range(4)])) == [0, 1, 2, 3]


@pytest.mark.parametrize("taken", [0, 1])
def test_those_at_work_are_ended_quietly_where_no_more_is_taken(taken, tmp_path):
    def unless_told_to_wait(path):
        path.write_text("begun")
        while path.name != "soon":
            time.sleep(PATIENCE_S)
        return path.name

    tasks = [partial(unless_told_to_wait, tmp_path / name) for name in ("soon", "never", "never")]
    with warnings.catch_warnings(record=True) as warned:
        warnings.simplefilter("always")
        results = begin_at_once(tasks)
        comes(tmp_path / "never")
        assert [next(results) for _ in range(taken)] == ["soon"] * taken
        left = time.monotonic()
        results.close()
        del results
        gc.collect()
    assert [str(warning.message) for warning in warned] == []
    assert time.monotonic() - left < PATIENCE_S
