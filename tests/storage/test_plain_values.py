"""Results as JSON knows them."""

from datetime import date

import numpy as np

from dotloupe.storage.plain_values import plain


def test_results_become_what_json_knows():
    held = {1: np.float32(0.5), "a": np.array([1.0, np.nan]), "b": date(2026, 3, 12), "c": {2}}
    assert plain(held) == {"1": 0.5, "a": [1.0, None], "b": "2026-03-12", "c": [2]}
    assert plain((np.bool_(True), np.inf, None)) == [True, None, None]
