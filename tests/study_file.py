"""Rows of a long study, kept as they are made: started again, it makes what is missing."""

import csv
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any


def read_rows(out: Path) -> list[dict[str, Any]]:
    """Rows made so far."""
    if not out.exists():
        return []
    with out.open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def add_rows(out: Path, columns: Sequence[str], made: Iterable[Iterable[dict[str, Any]]]) -> None:
    """Append rows as they come."""
    fresh = not out.exists()
    with out.open("a", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, columns)
        if fresh:
            writer.writeheader()
        for rows in made:
            writer.writerows(rows)
            file.flush()
