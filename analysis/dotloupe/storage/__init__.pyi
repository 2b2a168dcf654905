from . import cache as cache
from .atomic_write import (
    make_folder as make_folder,
)
from .atomic_write import (
    whole as whole,
)
from .atomic_write import (
    write_bytes as write_bytes,
)
from .atomic_write import (
    write_text as write_text,
)
from .cache import program as program
from .file_names import as_text as as_text
from .plain_values import plain as plain
from .plain_values import program_version as program_version
