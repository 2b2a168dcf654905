from .all_criteria import Ladder as Ladder, ladder as ladder
from .criterion_ladder import CriterionLadder as CriterionLadder
from .recommendation import Recommendation as Recommendation, recommend as recommend
