from .examination import (
    Fitness as Fitness,
    examine as examine,
    examine_unregistered as examine_unregistered,
)
from .exposure import frame_findings as frame_findings
from .finding import judge as judge
from .focus import FocusMap as FocusMap
from .place_in_picture import (
    CONTENT as CONTENT,
    PLACE as PLACE,
    place_findings as place_findings,
    place_said as place_said,
)
from .processing import sharpening_regions as sharpening_regions
