from .cautions import (
    BarsInSpaces as BarsInSpaces,
    BarsLostInGrain as BarsLostInGrain,
    BarsMiscounted as BarsMiscounted,
    BarsOutOfPhase as BarsOutOfPhase,
    ContrastTooLow as ContrastTooLow,
    FewPixelsPerLinePair as FewPixelsPerLinePair,
    PeriodDiffers as PeriodDiffers,
)
from .coltman_series import coltman as coltman
from .limit import (
    ResolvedLimit as ResolvedLimit,
    resolved_limit as resolved_limit,
    sent_nyquist as sent_nyquist,
)
from .line_pairs import (
    RESOLVED_CONTRAST as RESOLVED_CONTRAST,
    LinePairs as LinePairs,
    line_pairs as line_pairs,
)
