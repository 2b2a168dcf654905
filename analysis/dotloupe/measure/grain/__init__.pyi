from . import scores as scores
from .over_tints import GrainSummary as GrainSummary, summarise_grain as summarise_grain
from .paper_noise import BlankPaper as BlankPaper, blank_paper as blank_paper
from .tint_grain import Grain as Grain, grain as grain
