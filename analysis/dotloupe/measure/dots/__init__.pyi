from .cautions import (
    DotSizeBlurred as DotSizeBlurred,
)
from .cautions import (
    DotsTooSmall as DotsTooSmall,
)
from .cautions import (
    DotsTouch as DotsTouch,
)
from .statistics import Dots as Dots
from .statistics import dots as dots
