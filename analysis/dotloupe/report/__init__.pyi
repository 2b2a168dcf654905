from .json_values import (
    ladder_json as ladder_json,
    ranking_json as ranking_json,
    recommendation_json as recommendation_json,
)
from .model import ladder_model as ladder_model, ranking_model as ranking_model
from .page import write_report as write_report
