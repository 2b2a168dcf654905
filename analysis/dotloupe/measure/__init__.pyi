from . import seeing as seeing
from .camera_mtf import Camera as Camera, CameraCurve as CameraCurve, camera_curve as camera_curve
from .ideal_camera import IdealCamera as IdealCamera
from .level_crossing import falls_below as falls_below, last_above as last_above
from .readings import (
    READINGS as READINGS,
    Parting as Parting,
    Reading as Reading,
    ReadingName as ReadingName,
    bars_reading as bars_reading,
    edges_reading as edges_reading,
    parting as parting,
    texture_reading as texture_reading,
)
from .scaled_camera import (
    ScaledCamera as ScaledCamera,
    ScaledMtf as ScaledMtf,
    camera_by_scale as camera_by_scale,
)
from .seeing import (
    EVEN_AREA_MM as EVEN_AREA_MM,
    OpponentChannel as OpponentChannel,
    barten_pupil_mm as barten_pupil_mm,
    barten_sensitivity as barten_sensitivity,
    cycles_per_degree as cycles_per_degree,
    cycles_per_mm as cycles_per_mm,
    dooley_shaw_transfer as dooley_shaw_transfer,
    lightness as lightness,
    lightness_slope as lightness_slope,
    print_luminance as print_luminance,
    scielab_transfer as scielab_transfer,
)
from .uncertainty import Uncertainty as Uncertainty, normal_uncertainty as normal_uncertainty
from .wave import coarser as coarser
