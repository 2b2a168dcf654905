"""Order of printing: blocks of all settings, shuffled, the same for the same seed."""

import numpy as np

from dotloupe.session import printing_order

RUNS = {"a": (1, 2, 3), "b": (4, 5, 6), "c": (7, 8)}


def test_every_run_is_printed_once_and_every_block_holds_each_setting_once():
    blocks = printing_order(RUNS, seed=3)
    assert sorted(n for block in blocks for n in block) == [1, 2, 3, 4, 5, 6, 7, 8]
    owner = {n: name for name, numbers in RUNS.items() for n in numbers}
    assert [sorted(owner[n] for n in block) for block in blocks] == [
        ["a", "b", "c"],
        ["a", "b", "c"],
        ["a", "b"],
    ]
    assert printing_order(RUNS, seed=3) == blocks
    assert len({printing_order(RUNS, seed=s) for s in range(20)}) > 10


def test_drift_of_the_day_falls_on_all_settings_alike():
    runs = {name: tuple(range(5 * i, 5 * i + 5)) for i, name in enumerate("abcd")}
    late = []
    for seed in range(300):
        order = [n for block in printing_order(runs, seed=seed) for n in block]
        place = {n: i for i, n in enumerate(order)}
        late.append([np.mean([place[n] for n in numbers]) for numbers in runs.values()])
    # the mean place is 9.5; a setting in one go would lie 7.5 from it
    assert np.abs(np.mean(late, axis=0) - 9.5).max() < 0.2
    assert np.abs(np.array(late) - 9.5).max() < 1.6
