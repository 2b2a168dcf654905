from .ranking import (
    CriterionRanking as CriterionRanking,
)
from .ranking import (
    Place as Place,
)
from .ranking import (
    Ranking as Ranking,
)
from .ranking import (
    rank as rank,
)
