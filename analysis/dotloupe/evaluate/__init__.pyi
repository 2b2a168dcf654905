from . import elements as elements
from .camera_reference import (
    ReferenceEdge as ReferenceEdge,
    camera_response as camera_response,
    reference_edge as reference_edge,
)
from .capture_evaluation import (
    RunRepeated as RunRepeated,
    measure_capture as measure_capture,
    measure_patches as measure_patches,
)
from .cautions import (
    ApertureUnknown as ApertureUnknown,
    CameraBeatsIdeal as CameraBeatsIdeal,
    FedTurned as FedTurned,
    FocusDoubtful as FocusDoubtful,
    MarkedByHand as MarkedByHand,
    NothingMeasured as NothingMeasured,
    OtherCamera as OtherCamera,
    PlaceWasOff as PlaceWasOff,
    PrintedSizeUnknown as PrintedSizeUnknown,
    RegionNotMeasured as RegionNotMeasured,
    ScalesNotUsed as ScalesNotUsed,
)
from .contrast_numbers import summarise_gratings as summarise_gratings
from .elements import (
    AXES as AXES,
    TINT_MARGIN_MM as TINT_MARGIN_MM,
    measure_bars as measure_bars,
    measure_dots as measure_dots,
    measure_edges as measure_edges,
    measure_placements as measure_placements,
    measure_texture as measure_texture,
    measure_tints as measure_tints,
)
from .feeding import fed_turned as fed_turned
from .gratings import measure_gratings as measure_gratings
from .marked_regions import (
    MarkedRegion as MarkedRegion,
    region_on_picture as region_on_picture,
    with_marked as with_marked,
)
from .own_picture import (
    compare_with_picture as compare_with_picture,
    comparison_cautions as comparison_cautions,
    examine_own_picture as examine_own_picture,
    measure_own_picture as measure_own_picture,
)
from .print_of_parts import with_prints_of_parts as with_prints_of_parts
from .print_response import print_responses as print_responses
from .second_shot import second_view as second_view
from .summaries import (
    summarise_bars as summarise_bars,
    summarise_dots as summarise_dots,
    summarise_edges as summarise_edges,
    summarise_placement as summarise_placement,
    summarise_texture as summarise_texture,
    summarise_tints as summarise_tints,
)
from .two_distances import (
    CameraByScale as CameraByScale,
    camera_by_scale as camera_by_scale,
    is_camera_pair as is_camera_pair,
    scale_ratio as scale_ratio,
)
