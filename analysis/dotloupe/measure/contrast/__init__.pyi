from .detection import (
    FALSE_RATE as FALSE_RATE,
    border_index as border_index,
    missed_rate as missed_rate,
)
from .eye import least_modulation_seen as least_modulation_seen
from .grating import (
    Grating as Grating,
    field_shift_mm as field_shift_mm,
    one_grating as one_grating,
)
from .grating_fit import (
    CellImage as CellImage,
    GrainPower as GrainPower,
    GratingFit as GratingFit,
    fit_grating as fit_grating,
    grain_power as grain_power,
)
from .surviving import Survival as Survival, never_rising as never_rising, survival as survival
from .tone_map import (
    FAINT_MODULATION as FAINT_MODULATION,
    ContrastMap as ContrastMap,
    contrast_map as contrast_map,
)
