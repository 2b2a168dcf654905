from .examination import (
    Fitness as Fitness,
    Verdict as Verdict,
    examine as examine,
    examine_unregistered as examine_unregistered,
)
from .exposure import frame_findings as frame_findings
from .finding import (
    Evidence as Evidence,
    Fault as Fault,
    FaultLimits as FaultLimits,
    Finding as Finding,
    Refused as Refused,
    Severity as Severity,
    Symptom as Symptom,
)
from .focus import (
    NOTICED_LOSS_PERCENT as NOTICED_LOSS_PERCENT,
    Curled as Curled,
    FocusMap as FocusMap,
    Softer as Softer,
    Tilted as Tilted,
)
from .motion import Moved as Moved
from .place_in_picture import (
    CONTENT as CONTENT,
    PLACE as PLACE,
    PictureSampling as PictureSampling,
    place_findings as place_findings,
)
from .processing import BLOCK_PX as BLOCK_PX, sharpening_regions as sharpening_regions
from .sheet_position import (
    PIXELS_PER_PAIR as PIXELS_PER_PAIR,
    Stretched as Stretched,
    WrongSize as WrongSize,
)
from .together import SofterThan as SofterThan, judge_together as judge_together
