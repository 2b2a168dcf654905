from . import cautions as cautions
from .correction import Correction as Correction, corrections as corrections
from .differences import (
    DifferenceVerdict as DifferenceVerdict,
    NumberDifference as NumberDifference,
    number_differences as number_differences,
)
from .number_names import (
    number_said as number_said,
    number_title as number_title,
    reflected_percent as reflected_percent,
    tint_said as tint_said,
)
from .pairs import PairDifference as PairDifference
from .prints import LeftOut as LeftOut, TooFewFitError as TooFewFitError
from .scope import Scope as Scope
