from .criterion_ranking import CriterionRanking as CriterionRanking, Place as Place
from .ranking import Ranking as Ranking, rank as rank
