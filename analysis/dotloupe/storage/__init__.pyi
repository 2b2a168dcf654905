from . import cache as cache
from .atomic_write import (
    make_folder as make_folder,
    whole as whole,
    write_bytes as write_bytes,
    write_text as write_text,
)
from .cache import program as program
from .csv_file import write_csv as write_csv
from .file_names import as_text as as_text
from .plain_values import plain as plain, program_version as program_version
