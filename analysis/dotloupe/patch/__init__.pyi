from . import corner_marks as corner_marks, layout as layout, shapes as shapes
from .clear_paper import clear_paper_mm as clear_paper_mm
from .contrast_cells import (
    COLOUR_INKS as COLOUR_INKS,
    CONTRAST_TONES as CONTRAST_TONES,
    channel_swings as channel_swings,
)
from .corner_marks import (
    CORNERS as CORNERS,
    LARGEST_CORNER_MM as LARGEST_CORNER_MM,
    LAST_RUN as LAST_RUN,
    MARK_MODULES as MARK_MODULES,
    PATCH_VERSION as PATCH_VERSION,
    PatchCode as PatchCode,
    PatchKind as PatchKind,
    code_modules as code_modules,
    mark_dictionary as mark_dictionary,
    mark_modules as mark_modules,
    parse_code as parse_code,
)
from .layout import (
    COLOURS as COLOURS,
    PAPER_TONE as PAPER_TONE,
    grey_reflectance as grey_reflectance,
    patch_regions as patch_regions,
)
from .patch import HIGHEST_PPI as HIGHEST_PPI, LOWEST_PPI as LOWEST_PPI, Patch as Patch
from .picture_frame import FramedPart as FramedPart, framed_part as framed_part, size_at as size_at
from .region import Axis as Axis, Region as Region
from .sheet import save_on_sheet as save_on_sheet, slots_mm as slots_mm
from .srgb import (
    srgb_decode as srgb_decode,
    srgb_encode as srgb_encode,
    srgb_profile as srgb_profile,
)
from .texture import texture_at_pixels as texture_at_pixels
