from . import print_images as print_images
from . import visible_steps as visible_steps
from .picture_difference import PictureVisibility as PictureVisibility
from .setting_pair import (
    CriterionVisibility as CriterionVisibility,
)
from .setting_pair import (
    PairVisibility as PairVisibility,
)
from .setting_pair import (
    Visibility as Visibility,
)
from .setting_pair import (
    pair_visibility as pair_visibility,
)
from .setting_pair import (
    visibility_at as visibility_at,
)
from .vernier import (
    OUT_OF_LINE_ARCSEC as OUT_OF_LINE_ARCSEC,
)
from .vernier import (
    Alignment as Alignment,
)
from .vernier import (
    alignment as alignment,
)
from .vernier import (
    just_visible_um as just_visible_um,
)
from .visible_steps import (
    FARTHEST_MM as FARTHEST_MM,
)
from .visible_steps import (
    VisibleScale as VisibleScale,
)
from .visible_steps import (
    visible_scales as visible_scales,
)
