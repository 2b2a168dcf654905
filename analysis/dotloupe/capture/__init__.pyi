from . import raw_file as raw_file
from . import reading as reading
from .capture import LUMINANCE as LUMINANCE
from .capture import Capture as Capture
from .decoding import (
    JPEG_START as JPEG_START,
)
from .decoding import (
    PNG_START as PNG_START,
)
from .decoding import (
    SUFFIXES as SUFFIXES,
)
from .decoding import (
    TIFF_STARTS as TIFF_STARTS,
)
from .paper_level import Lighting as Lighting
from .paper_level import fit_lighting as fit_lighting
from .reading import (
    capture_paths as capture_paths,
)
from .reading import (
    given_paths as given_paths,
)
from .reading import (
    load_capture as load_capture,
)
from .reading import (
    load_captures as load_captures,
)
from .sent_picture import (
    SentPicture as SentPicture,
)
from .sent_picture import (
    load_picture as load_picture,
)
from .sent_picture import (
    picture_of as picture_of,
)
