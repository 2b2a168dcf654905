from .ink_offset import (
    LineWindow as LineWindow,
    PlaneOffset as PlaneOffset,
    plane_offsets as plane_offsets,
)
from .passes import Doubling as Doubling, doubling as doubling
from .printed import (
    NarrowLine as NarrowLine,
    PrintedLine as PrintedLine,
    printed_line as printed_line,
)
from .profile import Runs as Runs
