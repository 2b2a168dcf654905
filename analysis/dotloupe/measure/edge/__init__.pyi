from .combined import CombinedEdges as CombinedEdges
from .combined import combine_edges as combine_edges
from .slanted import (
    EdgeResponse as EdgeResponse,
)
from .slanted import (
    camera_response as camera_response,
)
from .slanted import (
    slanted_edge as slanted_edge,
)
