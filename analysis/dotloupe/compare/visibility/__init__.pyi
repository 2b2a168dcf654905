from . import print_images as print_images, visible_steps as visible_steps
from .difference_places import (
    DifferencePlace as DifferencePlace,
    difference_places as difference_places,
)
from .picture_difference import PictureVisibility as PictureVisibility
from .setting_pair import (
    CriterionVisibility as CriterionVisibility,
    PairVisibility as PairVisibility,
    Visibility as Visibility,
    pair_visibility as pair_visibility,
    visibility_at as visibility_at,
)
from .vernier import (
    OUT_OF_LINE_ARCSEC as OUT_OF_LINE_ARCSEC,
    Alignment as Alignment,
    alignment as alignment,
    just_visible_um as just_visible_um,
)
from .visible_steps import (
    FARTHEST_MM as FARTHEST_MM,
    VisibleScale as VisibleScale,
    visible_scales as visible_scales,
)
