"""The stored study is whole, is what its rows say, and keeps what is claimed of it."""

import sys
from pathlib import Path

import numpy as np
import pytest

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

import rows as study_rows  # noqa: E402
import study  # noqa: E402
import table  # noqa: E402
from sessions import draw_session  # noqa: E402


@pytest.fixture(scope="module")
def clean():
    return study_rows.read_rows(HERE / "sessions.csv")


@pytest.fixture(scope="module")
def faulty():
    return study_rows.read_rows(HERE / "faulty.csv")


def test_the_stored_table_is_that_of_the_stored_rows(clean, faulty, tmp_path):
    again = table.write_table([*clean, *faulty], tmp_path / "results.md")
    assert (HERE / "results.md").read_text() == again


def test_a_session_is_the_same_whenever_it_is_drawn():
    assert draw_session(7, faulty=False) == draw_session(7, faulty=False)
    assert draw_session(7, faulty=True) == draw_session(7, faulty=True)
    assert draw_session(8, faulty=False).printer != draw_session(7, faulty=False).printer


@pytest.mark.slow
def test_a_session_run_anew_gives_the_stored_rows(clean):
    """Within the stored intervals; the numbers may move a little with every improvement."""
    for row in study_rows.rows_of(study.run_session(draw_session(1, faulty=False))):
        stored = next(r for r in clean if (r.seed, r.criterion) == (1, row.criterion))
        assert row.true_one == pytest.approx(stored.true_one, rel=1e-3)
        assert stored.one_low <= row.one <= stored.one_high
        assert np.isfinite(row.one_low)
