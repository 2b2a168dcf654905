from . import csv_rows as csv_rows, files as files
from .detail import plot_detail as plot_detail, plot_line_pairs as plot_line_pairs
from .eyesight import plot_eyesight as plot_eyesight
from .files import DATA as DATA, PlotFile as PlotFile, write_plots as write_plots
from .focus import draw_focus as draw_focus, plot_focus as plot_focus
from .grain import plot_noise_spectrum as plot_noise_spectrum, plot_tint_grain as plot_tint_grain
from .head import plot_placement as plot_placement
from .readings import partings_sentence as partings_sentence, plot_readings as plot_readings
from .standing import plot_criterion as plot_criterion, plot_ladder as plot_ladder
from .style import (
    INK as INK,
    Look as Look,
    RC as RC,
    SERIES as SERIES,
    SOFT_INK as SOFT_INK,
    drawing as drawing,
    look as look,
    page_colours as page_colours,
    svg_text as svg_text,
)
from .trend import plot_trend as plot_trend
