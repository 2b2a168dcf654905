from .cautions import (
    BlurReachesEnds as BlurReachesEnds,
    CameraReference as CameraReference,
    CrossingNotMeasured as CrossingNotMeasured,
    EdgeOvershoots as EdgeOvershoots,
    EdgesDisagree as EdgesDisagree,
    EdgesSetApart as EdgesSetApart,
    LightFarFromEdge as LightFarFromEdge,
    MtfEndsEarly as MtfEndsEarly,
    ReferenceRunsOtherwise as ReferenceRunsOtherwise,
    TailContinued as TailContinued,
)
from .combined import CombinedEdges as CombinedEdges, combine_edges as combine_edges
from .slanted import (
    EdgeResponse as EdgeResponse,
    camera_response as camera_response,
    slanted_edge as slanted_edge,
)
