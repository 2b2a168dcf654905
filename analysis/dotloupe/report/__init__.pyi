from .json_values import ranking_json as ranking_json
from .page import write_report as write_report
