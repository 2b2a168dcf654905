from . import plot as plot
from .detail import detail_plot as detail_plot
from .files import (
    DATA as DATA,
)
from .files import (
    PlotFile as PlotFile,
)
from .files import (
    history_plots as history_plots,
)
from .files import (
    ladder_plots as ladder_plots,
)
from .files import (
    ranking_plots as ranking_plots,
)
from .files import (
    write_plots as write_plots,
)
from .focus import draw_focus as draw_focus
from .grain import noise_plot as noise_plot
from .grain import tint_grain_plot as tint_grain_plot
from .head import placement_plot as placement_plot
from .plot import Plot as Plot
from .plot import drawing as drawing
from .plot import svg_text as svg_text
from .readings import all_readings as all_readings
from .standing import criterion_plot as criterion_plot
from .standing import ladder_plot as ladder_plot
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
    colour_number as colour_number,
)
from .style import (
    page_colours as page_colours,
)
