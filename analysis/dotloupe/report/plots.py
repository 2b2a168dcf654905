"""Every plot: a result and an axis in, the axis out."""

from dotloupe.report.detail_plots import plot_detail, plot_line_pairs
from dotloupe.report.eyesight_plots import plot_eyesight
from dotloupe.report.focus_plots import plot_focus
from dotloupe.report.grain_plots import plot_noise_spectrum, plot_tint_grain
from dotloupe.report.head_plots import plot_placement
from dotloupe.report.reading_plots import plot_readings
from dotloupe.report.standing_plots import plot_criterion, plot_ladder
from dotloupe.report.style import drawing, svg_text
from dotloupe.report.trend_plots import plot_trend

__all__ = [
    "drawing",
    "plot_criterion",
    "plot_detail",
    "plot_eyesight",
    "plot_focus",
    "plot_ladder",
    "plot_line_pairs",
    "plot_noise_spectrum",
    "plot_placement",
    "plot_readings",
    "plot_tint_grain",
    "plot_trend",
    "svg_text",
]
