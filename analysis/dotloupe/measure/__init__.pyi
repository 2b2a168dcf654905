from . import seeing as seeing
from .camera_mtf import Camera as Camera
from .camera_mtf import CameraCurve as CameraCurve
from .camera_mtf import camera_curve as camera_curve
from .level_crossing import falls_below as falls_below
from .level_crossing import last_above as last_above
from .readings import (
    READINGS as READINGS,
)
from .readings import (
    Parting as Parting,
)
from .readings import (
    Reading as Reading,
)
from .readings import (
    ReadingName as ReadingName,
)
from .readings import (
    bars_reading as bars_reading,
)
from .readings import (
    edges_reading as edges_reading,
)
from .readings import (
    parting as parting,
)
from .readings import (
    texture_reading as texture_reading,
)
from .seeing import (
    OpponentChannel as OpponentChannel,
)
from .seeing import (
    barten_pupil_mm as barten_pupil_mm,
)
from .seeing import (
    barten_sensitivity as barten_sensitivity,
)
from .seeing import (
    cycles_per_degree as cycles_per_degree,
)
from .seeing import (
    cycles_per_mm as cycles_per_mm,
)
from .seeing import (
    dooley_shaw_transfer as dooley_shaw_transfer,
)
from .seeing import (
    lightness as lightness,
)
from .seeing import (
    lightness_slope as lightness_slope,
)
from .seeing import (
    scielab_transfer as scielab_transfer,
)
from .uncertainty import Uncertainty as Uncertainty
from .uncertainty import normal_uncertainty as normal_uncertainty
