from . import elements as elements
from .camera_reference import (
    ReferenceEdge as ReferenceEdge,
)
from .camera_reference import (
    camera_response as camera_response,
)
from .camera_reference import (
    reference_edge as reference_edge,
)
from .elements import (
    AXES as AXES,
)
from .elements import (
    TINT_MARGIN_MM as TINT_MARGIN_MM,
)
from .elements import (
    measure_bars as measure_bars,
)
from .elements import (
    measure_dots as measure_dots,
)
from .elements import (
    measure_edges as measure_edges,
)
from .elements import (
    measure_placements as measure_placements,
)
from .elements import (
    measure_texture as measure_texture,
)
from .elements import (
    measure_tints as measure_tints,
)
from .evaluation import measure_capture as measure_capture
from .marked_regions import (
    MarkedRegion as MarkedRegion,
)
from .marked_regions import (
    region_on_picture as region_on_picture,
)
from .marked_regions import (
    with_marked as with_marked,
)
from .own_picture import (
    cautions as cautions,
)
from .own_picture import (
    compare_with_picture as compare_with_picture,
)
from .own_picture import (
    examine_own_picture as examine_own_picture,
)
from .own_picture import (
    measure_own_picture as measure_own_picture,
)
from .summaries import (
    summarise_bars as summarise_bars,
)
from .summaries import (
    summarise_dots as summarise_dots,
)
from .summaries import (
    summarise_edges as summarise_edges,
)
from .summaries import (
    summarise_placement as summarise_placement,
)
from .summaries import (
    summarise_texture as summarise_texture,
)
from .summaries import (
    summarise_tints as summarise_tints,
)
