"""Every plot: a result and an axis in, the axis out."""

from dotloupe.report.detail_plots import plot_detail, plot_line_pairs
from dotloupe.report.grain_plots import plot_noise_spectrum, plot_tint_grain
from dotloupe.report.standing_plots import plot_criterion, plot_ladder
from dotloupe.report.style import drawing, svg_text

__all__ = [
    "drawing",
    "plot_criterion",
    "plot_detail",
    "plot_ladder",
    "plot_line_pairs",
    "plot_noise_spectrum",
    "plot_tint_grain",
    "svg_text",
]
