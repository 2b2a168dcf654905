"""The sentence of each kind of caution: what is seen, what may cause it, what to do."""

from __future__ import annotations

from functools import singledispatch

from dotloupe.cautions import Caution
from dotloupe.registration import CodeUnread
from dotloupe.report.text.measure_cautions import measure_caution


@singledispatch
def caution_text(caution: Caution) -> str:
    """Return what a caution says to a person.

    Raises
    ------
    NotImplementedError
        A kind of caution for which no sentence was written.
    """
    raise NotImplementedError(f"no sentence for {type(caution).__name__}")


@caution_text.register
def _code_unread(_: CodeUnread) -> str:
    return (
        "The patch's code cannot be read, so the ppi sent is unknown. "
        "Photograph the code in focus and without glare."
    )


for _kind, _sentence in measure_caution.registry.items():
    if _kind is not object:
        caution_text.register(_kind, _sentence)
