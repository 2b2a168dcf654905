from .cautions import (
    BlurReachesEnds as BlurReachesEnds,
)
from .cautions import (
    CameraReference as CameraReference,
)
from .cautions import (
    CrossingNotMeasured as CrossingNotMeasured,
)
from .cautions import (
    EdgeOvershoots as EdgeOvershoots,
)
from .cautions import (
    EdgesDisagree as EdgesDisagree,
)
from .cautions import (
    EdgesSetApart as EdgesSetApart,
)
from .cautions import (
    LightFarFromEdge as LightFarFromEdge,
)
from .cautions import (
    MtfEndsEarly as MtfEndsEarly,
)
from .cautions import (
    ReferenceRunsOtherwise as ReferenceRunsOtherwise,
)
from .cautions import (
    TailContinued as TailContinued,
)
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
