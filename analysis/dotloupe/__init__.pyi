from .capture import (
    Capture as Capture,
    load_capture as load_capture,
    load_captures as load_captures,
)
from .compare.effects import effects as effects
from .compare.history import History as History
from .compare.ladder import ladder as ladder
from .compare.ranking import rank as rank
from .evaluate import camera_response as camera_response, measure_capture as measure_capture
from .measure.bars import line_pairs as line_pairs
from .measure.edge import slanted_edge as slanted_edge
from .measure.grain import grain as grain
from .measurement import Measurement as Measurement
from .patch import Patch as Patch
from .registration import register as register
from .report import write_report as write_report

__version__: str
