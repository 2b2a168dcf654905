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
from .file_cautions import (
    BilinearColours as BilinearColours,
)
from .file_cautions import (
    NoProfile as NoProfile,
)
from .file_cautions import (
    Simulated as Simulated,
)
from .file_cautions import (
    UnusableProfile as UnusableProfile,
)
from .loading import (
    capture_paths as capture_paths,
)
from .loading import (
    given_paths as given_paths,
)
from .loading import (
    load_capture as load_capture,
)
from .loading import (
    load_captures as load_captures,
)
from .paper_level import Lighting as Lighting
from .paper_level import fit_lighting as fit_lighting
from .raw_file import RAW_SUFFIXES as RAW_SUFFIXES
from .sent_picture import (
    SentPicture as SentPicture,
)
from .sent_picture import (
    load_picture as load_picture,
)
from .sent_picture import (
    picture_of as picture_of,
)
