from . import scores as scores
from .cautions import (
    CameraBlurIncluded as CameraBlurIncluded,
)
from .cautions import (
    CameraNoiseEstimated as CameraNoiseEstimated,
)
from .cautions import (
    CameraNoiseIncluded as CameraNoiseIncluded,
)
from .cautions import (
    FixedPatternMayRemain as FixedPatternMayRemain,
)
from .cautions import (
    MostlyPaper as MostlyPaper,
)
from .cautions import (
    PaperFromOneShot as PaperFromOneShot,
)
from .cautions import (
    PaperIncluded as PaperIncluded,
)
from .cautions import (
    RegionBelowStandard as RegionBelowStandard,
)
from .cautions import (
    ShotTurned as ShotTurned,
)
from .over_tints import GrainSummary as GrainSummary
from .over_tints import summarise_grain as summarise_grain
from .paper_noise import BlankPaper as BlankPaper
from .paper_noise import blank_paper as blank_paper
from .tint_grain import Grain as Grain
from .tint_grain import grain as grain
