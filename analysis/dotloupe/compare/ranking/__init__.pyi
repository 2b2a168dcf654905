from .criterion_ranking import CriterionRanking as CriterionRanking
from .criterion_ranking import Place as Place
from .ranking import Ranking as Ranking
from .ranking import rank as rank
