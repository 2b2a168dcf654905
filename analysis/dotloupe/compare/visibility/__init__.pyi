from . import print_images as print_images, visible_steps as visible_steps
from .setting_pair import Seen as Seen, seen as seen, seen_pairs as seen_pairs
from .vernier import (
    Alignment as Alignment,
    OUT_OF_LINE_ARCSEC as OUT_OF_LINE_ARCSEC,
    alignment as alignment,
    just_seen_um as just_seen_um,
)
from .visible_steps import (
    FARTHEST_MM as FARTHEST_MM,
    VisibleScale as VisibleScale,
    visible_scales as visible_scales,
)
from .words import (
    closing_words as closing_words,
    far as far,
    seen_sentence as seen_sentence,
    sight as sight,
)
