from .capture import LUMINANCE as LUMINANCE, Capture as Capture
from .decoding import (
    JPEG_START as JPEG_START,
    PNG_START as PNG_START,
    SUFFIXES as SUFFIXES,
    TIFF_STARTS as TIFF_STARTS,
    UNREAD_SUFFIXES as UNREAD_SUFFIXES,
)
from .exif import CameraSettings as CameraSettings
from .exposure_pair import (
    ExposurePair as ExposurePair,
    load_exposure_pair as load_exposure_pair,
    with_exposure_pair as with_exposure_pair,
)
from .file_cautions import (
    BilinearColours as BilinearColours,
    CameraToneCurve as CameraToneCurve,
    CompressedWithLoss as CompressedWithLoss,
    NoProfile as NoProfile,
    Simulated as Simulated,
    ToneByExposures as ToneByExposures,
    UnusableProfile as UnusableProfile,
)
from .flat_field import (
    FlatField as FlatField,
    load_flat_field as load_flat_field,
    with_flat_field as with_flat_field,
)
from .loading import (
    capture_paths as capture_paths,
    given_paths as given_paths,
    half_of as half_of,
    load_capture as load_capture,
    load_captures as load_captures,
)
from .own_picture_file import (
    SentPicture as SentPicture,
    load_picture as load_picture,
    picture_of as picture_of,
)
from .paper_level import Lighting as Lighting, fit_lighting as fit_lighting
from .raw_file import RAW_SUFFIXES as RAW_SUFFIXES
from .reduced_file import KEPT_SETTINGS as KEPT_SETTINGS, write_reduced as write_reduced
from .set_up import SetUp as SetUp, SetUpPart as SetUpPart, set_up_of as set_up_of
