from . import scores as scores
from .cautions import (
    CameraBlurIncluded as CameraBlurIncluded,
    CameraNoiseEstimated as CameraNoiseEstimated,
    CameraNoiseIncluded as CameraNoiseIncluded,
    FixedPatternMayRemain as FixedPatternMayRemain,
    MostlyPaper as MostlyPaper,
    PaperFromOneShot as PaperFromOneShot,
    PaperIncluded as PaperIncluded,
    RegionBelowStandard as RegionBelowStandard,
    ShotTurned as ShotTurned,
)
from .over_tints import GrainSummary as GrainSummary, summarise_grain as summarise_grain
from .paper_noise import BlankPaper as BlankPaper, blank_paper as blank_paper
from .tint_grain import Grain as Grain, grain as grain
