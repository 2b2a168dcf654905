"""An invented printer and camera, for samples, tests and teaching."""

from dotloupe.simulate.camera import Camera, Shot, View
from dotloupe.simulate.edge_truth import EdgeTruth, edge_truth, true_edge_response
from dotloupe.simulate.files import write_capture
from dotloupe.simulate.grain_truth import GrainTruth, grain_truth, true_tint_grain
from dotloupe.simulate.head import Dots
from dotloupe.simulate.paper import GLOSS, LUSTRE, Paper
from dotloupe.simulate.photography import Photograph, photograph
from dotloupe.simulate.printer import (
    ALIGNED,
    FAST,
    FINE,
    MISALIGNED,
    PRINTER_600,
    PRINTER_720,
    Alignment,
    Ink,
    Mode,
    Printer,
)
from dotloupe.simulate.printing import Print, print_picture
from dotloupe.simulate.sheet import LUMINANCE, Sheet, blade_sheet, blank_sheet

__all__ = [
    "ALIGNED",
    "FAST",
    "FINE",
    "GLOSS",
    "LUMINANCE",
    "LUSTRE",
    "MISALIGNED",
    "PRINTER_600",
    "PRINTER_720",
    "Alignment",
    "Camera",
    "Dots",
    "EdgeTruth",
    "GrainTruth",
    "Ink",
    "Mode",
    "Paper",
    "Photograph",
    "Print",
    "Printer",
    "Sheet",
    "Shot",
    "View",
    "blade_sheet",
    "blank_sheet",
    "edge_truth",
    "grain_truth",
    "photograph",
    "print_picture",
    "true_edge_response",
    "true_tint_grain",
    "write_capture",
]
