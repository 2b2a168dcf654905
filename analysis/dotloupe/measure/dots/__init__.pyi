from .cautions import (
    DotSizeBlurred as DotSizeBlurred,
    DotsTooSmall as DotsTooSmall,
    DotsTouch as DotsTouch,
)
from .statistics import Dots as Dots, dots as dots
