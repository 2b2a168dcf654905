from . import cautions as cautions
from .differences import (
    DifferenceVerdict as DifferenceVerdict,
    NumberDifference as NumberDifference,
    number_differences as number_differences,
)
from .errata import Correction as Correction, corrections as corrections
from .foreign_structure import AddedStructure as AddedStructure, added_structure as added_structure
from .known_spread import KnownSpread as KnownSpread
from .pairs import PairDifference as PairDifference
from .prints import LeftOut as LeftOut, TooFewFitError as TooFewFitError
from .scope import Scope as Scope
