from . import scores as scores
from .over_tints import GrainSummary as GrainSummary
from .over_tints import summarise_grain as summarise_grain
from .paper_noise import BlankPaper as BlankPaper
from .paper_noise import blank_paper as blank_paper
from .tint_grain import Grain as Grain
from .tint_grain import grain as grain
