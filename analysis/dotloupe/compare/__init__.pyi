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
    Change as Change,
)
from .other_differences import (
    Verdict as Verdict,
)
from .other_differences import (
    changes as changes,
)
from .other_differences import (
    changes_sentence as changes_sentence,
)
from .other_differences import (
    closing_sentence as closing_sentence,
)
from .pairs import PairDifference as PairDifference
from .scope import (
    SECOND_PRINT as SECOND_PRINT,
)
from .scope import (
    Scope as Scope,
)
from .scope import (
    beyond as beyond,
)
from .scope import (
    subject as subject,
)
