from . import rows as rows, schema as schema
from .course import State as State
from .event_step import EventStep as EventStep
from .events import EVENT_KINDS as EVENT_KINDS
from .eye_cost import EyeCost as EyeCost
from .judging import ALARM as ALARM
from .printer_history import History as History
from .trend import Change as Change, Trend as Trend
from .verdict import HeadVerdict as HeadVerdict, Remedy as Remedy
