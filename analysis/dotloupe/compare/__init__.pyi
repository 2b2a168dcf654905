from .correction import Correction as Correction, corrections as corrections
from .number_names import (
    number_said as number_said,
    number_title as number_title,
    reflected_percent as reflected_percent,
    tint_said as tint_said,
)
from .other_differences import (
    Change as Change,
    Verdict as Verdict,
    changes as changes,
    changes_sentence as changes_sentence,
    closing_sentence as closing_sentence,
)
from .pairs import PairDifference as PairDifference
from .scope import (
    SECOND_PRINT as SECOND_PRINT,
    Scope as Scope,
    beyond as beyond,
    subject as subject,
)
