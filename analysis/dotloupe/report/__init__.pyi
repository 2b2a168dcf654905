from .circumstances import Circumstances as Circumstances
from .json_values import (
    effects_json as effects_json,
    head_json as head_json,
    ladder_json as ladder_json,
    ranking_json as ranking_json,
    recommendation_json as recommendation_json,
    repeat_json as repeat_json,
    trend_json as trend_json,
)
from .model import (
    effects_model as effects_model,
    history_model as history_model,
    ladder_model as ladder_model,
    ranking_model as ranking_model,
    repeat_model as repeat_model,
)
from .page import write_report as write_report
