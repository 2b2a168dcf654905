from . import csv_rows as csv_rows
from . import files as files
from .detail import plot_detail as plot_detail
from .detail import plot_line_pairs as plot_line_pairs
from .eyesight import plot_eyesight as plot_eyesight
from .files import DATA as DATA
from .files import PlotFile as PlotFile
from .files import write_plots as write_plots
from .focus import draw_focus as draw_focus
from .focus import plot_focus as plot_focus
from .grain import plot_noise_spectrum as plot_noise_spectrum
from .grain import plot_tint_grain as plot_tint_grain
from .head import plot_placement as plot_placement
from .readings import partings_sentence as partings_sentence
from .readings import plot_readings as plot_readings
from .standing import plot_criterion as plot_criterion
from .standing import plot_ladder as plot_ladder
from .style import (
    INK as INK,
)
from .style import (
    RC as RC,
)
from .style import (
    SERIES as SERIES,
)
from .style import (
    SOFT_INK as SOFT_INK,
)
from .style import (
    Look as Look,
)
from .style import (
    drawing as drawing,
)
from .style import (
    look as look,
)
from .style import (
    page_colours as page_colours,
)
from .style import (
    svg_text as svg_text,
)
from .trend import plot_trend as plot_trend
