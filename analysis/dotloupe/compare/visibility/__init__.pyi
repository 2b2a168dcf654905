from . import print_images as print_images
from . import visible_steps as visible_steps
from .setting_pair import Seen as Seen
from .setting_pair import seen as seen
from .setting_pair import seen_pairs as seen_pairs
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
    just_seen_um as just_seen_um,
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
from .words import (
    closing_words as closing_words,
)
from .words import (
    far as far,
)
from .words import (
    seen_sentence as seen_sentence,
)
from .words import (
    sight as sight,
)
