from .camera import Camera as Camera
from .camera import Shot as Shot
from .files import write_capture as write_capture
from .head import Dots as Dots
from .paper import GLOSS as GLOSS
from .paper import LUSTRE as LUSTRE
from .paper import Paper as Paper
from .photography import Photograph as Photograph
from .photography import photograph as photograph
from .printer import (
    ALIGNED as ALIGNED,
)
from .printer import (
    FAST as FAST,
)
from .printer import (
    FINE as FINE,
)
from .printer import (
    MISALIGNED as MISALIGNED,
)
from .printer import (
    PRINTER_600 as PRINTER_600,
)
from .printer import (
    PRINTER_720 as PRINTER_720,
)
from .printer import (
    Alignment as Alignment,
)
from .printer import (
    Ink as Ink,
)
from .printer import (
    Mode as Mode,
)
from .printer import (
    Printer as Printer,
)
from .printing import Print as Print
from .printing import print_picture as print_picture
from .sheet import (
    LUMINANCE as LUMINANCE,
)
from .sheet import (
    Sheet as Sheet,
)
from .sheet import (
    blade_sheet as blade_sheet,
)
from .sheet import (
    blank_sheet as blank_sheet,
)
from .true_edges import (
    EdgeTruth as EdgeTruth,
)
from .true_edges import (
    edge_truth as edge_truth,
)
from .true_edges import (
    true_edge_response as true_edge_response,
)
from .true_grain import (
    GrainTruth as GrainTruth,
)
from .true_grain import (
    grain_truth as grain_truth,
)
from .true_grain import (
    true_tint_grain as true_tint_grain,
)
