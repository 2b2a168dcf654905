"""Results as plain dictionaries, lists, numbers and words, ready for JSON."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Mapping
from datetime import date
from enum import Enum
from importlib.metadata import version
from typing import Any

import numpy as np

from dotloupe.cautions import Caution


def plain(value: Any, words: Callable[[Caution], str] = str) -> Any:
    """Turn frozen results and arrays into what JSON knows; NaN and infinity become None.

    Parameters
    ----------
    value : Any
    words : callable
        What is written of a caution; its name by default.
    """
    if isinstance(value, Caution):
        return words(value)
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {f.name: plain(getattr(value, f.name), words) for f in dataclasses.fields(value)}
    if isinstance(value, Mapping):
        return {str(k): plain(v, words) for k, v in value.items()}
    if isinstance(value, np.ndarray):
        return plain(value.tolist())
    if isinstance(value, (list, tuple, set, frozenset)):
        return [plain(v, words) for v in value]
    if isinstance(value, np.generic):
        return plain(value.item())
    if isinstance(value, Enum):
        return plain(value.value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value


def program_version() -> str:
    """Version of the installed package, as results name it."""
    return version("dotloupe")
