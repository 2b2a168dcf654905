from .all_criteria import Ladder as Ladder
from .all_criteria import ladder as ladder
from .criterion_ladder import CriterionLadder as CriterionLadder
from .recommendation import Recommendation as Recommendation
from .recommendation import recommend as recommend
