"""What an error says to a person where it carries results as data."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dotloupe.compare import TooFewFitError
from dotloupe.report.text.cautions import caution_text

if TYPE_CHECKING:
    from dotloupe.errors import DotloupeError

MOST_CAPTURES = 3
"""Captures named in one message: the first faults are usually those of all."""


def error_text(error: DotloupeError) -> str:
    """Return the message of an error, with the reasons of captures that were left out."""
    if not isinstance(error, TooFewFitError):
        return str(error)
    named = (
        f"{left.path}: {', '.join(map(caution_text, left.reasons))}"
        for left in error.left_out[:MOST_CAPTURES]
    )
    return "; ".join((str(error), *named))
