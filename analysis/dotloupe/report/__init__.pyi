from .json_values import (
    ladder_json as ladder_json,
)
from .json_values import (
    ranking_json as ranking_json,
)
from .json_values import (
    recommendation_json as recommendation_json,
)
from .model import ladder_model as ladder_model
from .model import ranking_model as ranking_model
from .page import write_report as write_report
