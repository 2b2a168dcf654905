from .examination import (
    Fitness as Fitness,
)
from .examination import (
    examine as examine,
)
from .examination import (
    examine_unregistered as examine_unregistered,
)
from .exposure import frame_findings as frame_findings
from .finding import (
    Evidence as Evidence,
)
from .finding import (
    Fault as Fault,
)
from .finding import (
    Finding as Finding,
)
from .finding import (
    Refused as Refused,
)
from .finding import (
    Severity as Severity,
)
from .finding import (
    Symptom as Symptom,
)
from .focus import (
    Curled as Curled,
)
from .focus import (
    FocusMap as FocusMap,
)
from .focus import (
    Moved as Moved,
)
from .focus import (
    Softer as Softer,
)
from .focus import (
    Tilted as Tilted,
)
from .place_in_picture import (
    CONTENT as CONTENT,
)
from .place_in_picture import (
    PLACE as PLACE,
)
from .place_in_picture import (
    PictureSampling as PictureSampling,
)
from .place_in_picture import (
    place_findings as place_findings,
)
from .processing import BLOCK_PX as BLOCK_PX
from .processing import sharpening_regions as sharpening_regions
from .sheet_position import (
    PIXELS_PER_PAIR as PIXELS_PER_PAIR,
)
from .sheet_position import (
    Stretched as Stretched,
)
from .sheet_position import (
    WrongSize as WrongSize,
)
