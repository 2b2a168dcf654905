"""The sentence of each kind of caution: what is seen, what may cause it, what to do."""

from __future__ import annotations

from functools import singledispatch
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from dotloupe.cautions import Caution


@singledispatch
def caution_text(caution: Caution) -> str:
    """Return what a caution says to a person.

    Raises
    ------
    NotImplementedError
        A kind of caution for which no sentence was written.
    """
    raise NotImplementedError(f"no sentence for {type(caution).__name__}")
