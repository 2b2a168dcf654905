from . import rows as rows
from . import schema as schema
from .printer_history import EVENT_KINDS as EVENT_KINDS
from .printer_history import History as History
from .trend import Trend as Trend
