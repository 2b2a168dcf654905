"""Printers that share nothing with the simulator, to learn on and to be tested by."""

from .blue_noise_coarse import MODEL as BLUE_NOISE_COARSE
from .blue_noise_drops import MODEL as BLUE_NOISE_DROPS
from .clustered_150 import MODEL as CLUSTERED_150
from .clustered_200 import MODEL as CLUSTERED_200
from .dye import MODEL as DYE
from .passes import MODEL as PASSES
from .printed import METHODS, Driver, Print, Printer
from .serpentine_diffusion import MODEL as SERPENTINE
from .silver import MODEL as SILVER
from .wide_diffusion import MODEL as WIDE

__all__ = ["HELD_OUT", "METHODS", "PRINTERS", "TUNED", "Driver", "Print", "Printer"]

PRINTERS: dict[str, Printer] = {
    model.name: model
    for model in (
        SERPENTINE,
        WIDE,
        BLUE_NOISE_DROPS,
        BLUE_NOISE_COARSE,
        CLUSTERED_150,
        CLUSTERED_200,
        DYE,
        SILVER,
        PASSES,
    )
}
HELD_OUT = (WIDE.name, CLUSTERED_150.name)
"""Chosen before any study was run: no limit of the package may be tuned on these."""
TUNED = tuple(name for name in PRINTERS if name not in HELD_OUT)
