from .ink_offset import (
    LineWindow as LineWindow,
)
from .ink_offset import (
    PlaneOffset as PlaneOffset,
)
from .ink_offset import (
    plane_offsets as plane_offsets,
)
from .passes import Doubling as Doubling
from .passes import doubling as doubling
from .printed import (
    NarrowLine as NarrowLine,
)
from .printed import (
    PrintedLine as PrintedLine,
)
from .printed import (
    printed_line as printed_line,
)
from .profile import Runs as Runs
