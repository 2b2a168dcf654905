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
from .finding import judge as judge
from .focus import FocusMap as FocusMap
from .place_in_picture import (
    CONTENT as CONTENT,
)
from .place_in_picture import (
    PLACE as PLACE,
)
from .place_in_picture import (
    place_findings as place_findings,
)
from .place_in_picture import (
    place_said as place_said,
)
from .processing import sharpening_regions as sharpening_regions
