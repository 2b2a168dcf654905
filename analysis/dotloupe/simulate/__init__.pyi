from .camera import Camera as Camera, Shot as Shot
from .files import write_capture as write_capture
from .head import Dots as Dots
from .paper import GLOSS as GLOSS, LUSTRE as LUSTRE, Paper as Paper
from .photography import Photograph as Photograph, photograph as photograph
from .printer import (
    ALIGNED as ALIGNED,
    FAST as FAST,
    FINE as FINE,
    MISALIGNED as MISALIGNED,
    PRINTER_600 as PRINTER_600,
    PRINTER_720 as PRINTER_720,
    Alignment as Alignment,
    Ink as Ink,
    Mode as Mode,
    Printer as Printer,
)
from .printing import Print as Print, print_picture as print_picture
from .sheet import LUMINANCE as LUMINANCE, Sheet as Sheet, blank_sheet as blank_sheet
