from .coltman_series import coltman as coltman
from .limit import ResolvedLimit as ResolvedLimit
from .limit import resolved_limit as resolved_limit
from .resolution import LinePairs as LinePairs
from .resolution import line_pairs as line_pairs
