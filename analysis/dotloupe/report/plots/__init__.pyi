from . import files as files
from .curves import middle_tint as middle_tint
from .detail import detail_plot as detail_plot, line_pairs_plot as line_pairs_plot
from .files import (
    DATA as DATA,
    SUMMARY_PICTURE as SUMMARY_PICTURE,
    PlotFile as PlotFile,
    effects_plots as effects_plots,
    history_plots as history_plots,
    ladder_plots as ladder_plots,
    ranking_plots as ranking_plots,
    repeat_plots as repeat_plots,
    write_drawings as write_drawings,
)
from .focus import draw_focus as draw_focus
from .grain import noise_plot as noise_plot, tint_grain_plot as tint_grain_plot
from .head import placement_plot as placement_plot
from .places_and_ladder import criterion_plot as criterion_plot, ladder_plot as ladder_plot
from .plot import Plot as Plot, drawing as drawing, svg_text as svg_text
from .readings import all_readings as all_readings
from .style import (
    INK as INK,
    RC as RC,
    SERIES as SERIES,
    SOFT_INK as SOFT_INK,
    colour_number as colour_number,
    page_colours as page_colours,
)
from .summary_picture import SIZE_PX as SIZE_PX
from .viewing_distance import eyesight_plot as eyesight_plot
