from . import corner_marks as corner_marks
from . import layout as layout
from . import shapes as shapes
from .clear_paper import clear_paper_mm as clear_paper_mm
from .corner_marks import (
    CORNERS as CORNERS,
)
from .corner_marks import (
    LAST_RUN as LAST_RUN,
)
from .corner_marks import (
    MARK_MODULES as MARK_MODULES,
)
from .corner_marks import (
    PATCH_VERSION as PATCH_VERSION,
)
from .corner_marks import (
    PatchCode as PatchCode,
)
from .corner_marks import (
    PatchKind as PatchKind,
)
from .corner_marks import (
    code_modules as code_modules,
)
from .corner_marks import (
    mark_dictionary as mark_dictionary,
)
from .corner_marks import (
    mark_modules as mark_modules,
)
from .corner_marks import (
    parse_code as parse_code,
)
from .layout import (
    COLOURS as COLOURS,
)
from .layout import (
    MARK_MM as MARK_MM,
)
from .layout import (
    PAPER_TONE as PAPER_TONE,
)
from .layout import (
    SLANT_DEG as SLANT_DEG,
)
from .layout import (
    grey_reflectance as grey_reflectance,
)
from .layout import (
    patch_regions as patch_regions,
)
from .patch import HIGHEST_PPI as HIGHEST_PPI
from .patch import LOWEST_PPI as LOWEST_PPI
from .patch import Patch as Patch
from .region import Axis as Axis
from .region import Region as Region
from .sheet import save_on_sheet as save_on_sheet
from .sheet import slots_mm as slots_mm
from .srgb import (
    srgb_decode as srgb_decode,
)
from .srgb import (
    srgb_encode as srgb_encode,
)
from .srgb import (
    srgb_profile as srgb_profile,
)
from .texture import texture_at_pixels as texture_at_pixels
