from .ranking import (
    CriterionRanking as CriterionRanking,
    Place as Place,
    Ranking as Ranking,
    rank as rank,
)
