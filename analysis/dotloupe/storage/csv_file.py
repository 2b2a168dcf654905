"""Tables as CSV files."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping, Sequence
from io import StringIO
from pathlib import Path

from dotloupe.storage.atomic_write import write_text


def write_csv(path: Path, columns: Sequence[str], rows: Iterable[Mapping[str, object]]) -> None:
    """Write rows as CSV in UTF-8 under a line of column names, whole or not at all.

    Parameters
    ----------
    path : Path
    columns : sequence of str
    rows : iterable of mapping
        Column to value.

    Raises
    ------
    InputError
        The file cannot be written.
    """
    text = StringIO(newline="")
    writer = csv.DictWriter(text, columns)
    writer.writeheader()
    writer.writerows(rows)
    write_text(path, text.getvalue())
