from . import rows as rows, schema as schema
from .advice import Action as Action, above_limits as above_limits, advise as advise
from .control_chart import FEWEST_FOR_LIMITS as FEWEST_FOR_LIMITS
from .printer_history import EVENT_KINDS as EVENT_KINDS, History as History
from .trend import EventStep as EventStep, Point as Point, Trend as Trend
