from . import cautions as cautions
from .correction import Correction as Correction
from .correction import corrections as corrections
from .number_names import (
    number_said as number_said,
)
from .number_names import (
    number_title as number_title,
)
from .number_names import (
    reflected_percent as reflected_percent,
)
from .number_names import (
    tint_said as tint_said,
)
from .other_differences import (
    DifferenceVerdict as DifferenceVerdict,
)
from .other_differences import (
    NumberDifference as NumberDifference,
)
from .other_differences import (
    number_differences as number_differences,
)
from .pairs import PairDifference as PairDifference
from .prints import LeftOut as LeftOut
from .scope import Scope as Scope
