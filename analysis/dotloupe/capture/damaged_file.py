"""Damaged files: the libraries raise many kinds of error on them, a person reads one line."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from dotloupe.errors import InputError


def damaged(path: Path, kind: str) -> InputError:
    """Error that says so of a file of a kind."""
    return InputError(f"{path}: the {kind} is damaged or cut short; copy or export it again")


@contextmanager
def refused_where_it_fails(refusal: InputError) -> Iterator[None]:
    """Raise this for whatever a library raises; what was refused within passes as it is."""
    try:
        yield
    except InputError:
        raise
    except Exception as error:
        raise refusal from error
