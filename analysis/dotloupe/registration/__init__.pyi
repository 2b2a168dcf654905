from .averaging import averaging_step as averaging_step
from .cutting import Cut as Cut
from .homography import (
    jacobian as jacobian,
)
from .homography import (
    map_points as map_points,
)
from .homography import (
    pixels_per_mm as pixels_per_mm,
)
from .mark_search import find_marks as find_marks
from .patch_image import (
    SmallPicture as SmallPicture,
)
from .patch_image import (
    patch_picture as patch_picture,
)
from .patch_image import (
    small_picture as small_picture,
)
from .registration import (
    CodeUnread as CodeUnread,
)
from .registration import (
    Registration as Registration,
)
from .registration import (
    patch_in_frame as patch_in_frame,
)
from .registration import (
    register as register,
)
from .view import View as View
from .view import view_of as view_of
