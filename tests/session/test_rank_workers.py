"""Real sample captures ranked: the same to the last bit, whoever measures them, in whatever order.

The samples are simulated prints and photographs.
"""

import json
import os
import shutil
from pathlib import Path

import pytest

from dotloupe.compare.ranking.ranking import rank
from dotloupe.session.settings import measure_settings, setting_paths

SAMPLES = Path(__file__).parents[2] / "sample_captures"
PRINTS = {
    "fast": ("quality/fast/print1.jpg", "quality/fast/print2.jpg"),
    "fine": ("quality/fine/print1.jpg",),
    "before": ("alignment/before/print1.jpg",),
}


@pytest.fixture
def folders(tmp_path):
    """A folder for each setting, one of them with two prints, so that there is a spread to pool."""
    for name, files in PRINTS.items():
        (tmp_path / name).mkdir()
        for file in files:
            shutil.copy(SAMPLES / file, tmp_path / name)
    return [tmp_path / name for name in PRINTS]


def ranked(folders, cache, workers):
    """Rank them; what was measured is kept in a cache folder of its own."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(cache))
        patch.setattr(os, "cpu_count", lambda: workers)
        return rank(measure_settings(setting_paths(folders))).to_dict()


def places(result):
    """Everything said of each setting by each criterion; the order of listing aside."""
    return {
        (name, place["setting"]): {**place, "tied_with": sorted(place["tied_with"])}
        for name, criterion in result["criteria"].items()
        for place in criterion["places"]
    }


def test_workers_and_the_order_of_folders_change_no_bit(folders, tmp_path):
    """JSON writes a number with as many digits as tell it from every other."""
    one = ranked(folders, tmp_path / "one", 1)
    two = ranked(folders, tmp_path / "two", 2)
    assert json.dumps(one) == json.dumps(two)
    assert len(places(one)) >= 3 * len(PRINTS)
    for order in ((2, 1, 0), (1, 2, 0)):
        moved = ranked([folders[n] for n in order], tmp_path / "two", 2)
        assert places(moved) == places(one)
