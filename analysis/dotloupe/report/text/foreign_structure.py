"""Which prints show structure that the picture does not hold, in sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dotloupe.report.text.phrases import quoted, sentence
from dotloupe.report.text.rounding import number_text

if TYPE_CHECKING:
    from collections.abc import Sequence

    from dotloupe.compare import AddedStructure

EITHER = (
    "Where both were printed alike, the file added it; otherwise it may be the printer's grain."
)


def added_structure_sentences(found: Sequence[AddedStructure]) -> tuple[str, ...]:
    """Name every setting that shows more of it than another, how much, and what may have done it.

    Parameters
    ----------
    found : sequence of AddedStructure
    """
    strongest: dict[str, AddedStructure] = {}
    for one in sorted(found, key=lambda a: -a.ratio):
        strongest.setdefault(one.setting, one)
    return (*map(_sentence, strongest.values()), EITHER) if found else ()


def _sentence(found: AddedStructure) -> str:
    amount = f"{number_text(found.value, 1)} % of the paper's reflectance (rms) along {found.axis}"
    times = f"{number_text(found.ratio, 1)} times that of {quoted(found.reference)}"
    who = sentence(quoted(found.setting))
    return f"{who} shows structure that is not in the picture: {amount}, {times}."
