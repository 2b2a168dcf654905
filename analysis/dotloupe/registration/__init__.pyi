from .averaging import averaging_step as averaging_step
from .cutting import Cut as Cut, paper_lighting as paper_lighting
from .homography import (
    corners_in_capture as corners_in_capture,
    jacobian as jacobian,
    map_points as map_points,
    pixels_per_mm as pixels_per_mm,
)
from .mark_search import (
    FoundMarks as FoundMarks,
    find_all_marks as find_all_marks,
    is_mirrored as is_mirrored,
    marks_in_sight as marks_in_sight,
)
from .patch_image import (
    SmallPicture as SmallPicture,
    patch_picture as patch_picture,
    small_picture as small_picture,
)
from .printed_scale import (
    PrintedScale as PrintedScale,
    at_scale as at_scale,
    in_true_mm as in_true_mm,
)
from .registration import (
    CodeUnread as CodeUnread,
    PlacedFrame as PlacedFrame,
    Registration as Registration,
    frame_of as frame_of,
    patch_in_frame as patch_in_frame,
    register as register,
    register_on_picture as register_on_picture,
)
from .sight import ShownPatch as ShownPatch, box_in_frame as box_in_frame
from .view import View as View, view_of as view_of
