from .content import (
    LEAST_DETAIL as LEAST_DETAIL,
    Content as Content,
    framed_content as framed_content,
    richer_parts as richer_parts,
)
from .framing import draw_frame as draw_frame, save_frame as save_frame
from .picture_file import check_suffix as check_suffix
from .preparation import (
    Prepared as Prepared,
    load_master as load_master,
    prepare as prepare,
    profile_of as profile_of,
)
from .resampling import RESIZES as RESIZES, Resize as Resize
from .response_file import PrinterResponse as PrinterResponse, load_response as load_response
from .sharpening import AxisSharpening as AxisSharpening
from .version import Version as Version, align_version as align_version
