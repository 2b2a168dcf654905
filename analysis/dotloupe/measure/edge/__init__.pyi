from .combined import CombinedEdges as CombinedEdges, combine_edges as combine_edges
from .slanted import EdgeResponse as EdgeResponse, slanted_edge as slanted_edge
