from .coltman_series import coltman as coltman
from .limit import ResolvedLimit as ResolvedLimit, resolved_limit as resolved_limit
from .resolution import LinePairs as LinePairs, line_pairs as line_pairs
