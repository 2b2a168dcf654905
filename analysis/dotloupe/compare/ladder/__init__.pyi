from .all_criteria import Ladder as Ladder
from .all_criteria import ladder as ladder
from .criterion_ladder import Climb as Climb
from .recommendation import recommend as recommend
