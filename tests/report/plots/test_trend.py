"""The plot of a printer over time: what its line joins."""

from datetime import date
from types import SimpleNamespace

import matplotlib.pyplot as plt
import numpy as np

from dotloupe.compare.history import State
from dotloupe.report.plots.trend import trend_plot


def test_line_joins_the_means_of_the_days():
    # prints of one day have no order of their own: 0.6, 0.7, 0.8 and then 0.5, 0.3
    grain = {date(2026, 3, 1): (0.6, 0.7, 0.8), date(2026, 3, 6): (0.5, 0.3)}
    points = [
        SimpleNamespace(printed_on=day, value=value, standard_error=0.01)
        for day, values in grain.items()
        for value in values
    ]
    trend = SimpleNamespace(
        points=points,
        outside=(),
        baselines=(),
        events=(),
        better="lower",
        title="Grain",
        unit="%",
        criterion="grain",
        state=State.STEADY,
    )
    figure, axis = plt.subplots()
    line = trend_plot(trend).draw(axis).get_lines()[0]
    plt.close(figure)
    assert np.allclose(line.get_ydata(), [0.7, 0.4], atol=1e-12)
    assert list(line.get_xdata()) == [np.datetime64(day) for day in grain]
