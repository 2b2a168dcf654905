from .cautions import (
    BarsInSpaces as BarsInSpaces,
)
from .cautions import (
    BarsLostInGrain as BarsLostInGrain,
)
from .cautions import (
    BarsMiscounted as BarsMiscounted,
)
from .cautions import (
    BarsOutOfPhase as BarsOutOfPhase,
)
from .cautions import (
    ContrastTooLow as ContrastTooLow,
)
from .cautions import (
    FewPixelsPerLinePair as FewPixelsPerLinePair,
)
from .cautions import (
    PeriodDiffers as PeriodDiffers,
)
from .coltman_series import coltman as coltman
from .limit import ResolvedLimit as ResolvedLimit
from .limit import resolved_limit as resolved_limit
from .resolution import (
    RESOLVED_CONTRAST as RESOLVED_CONTRAST,
)
from .resolution import (
    LinePairs as LinePairs,
)
from .resolution import (
    line_pairs as line_pairs,
)
