"""What an error says to a person where it carries results as data."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dotloupe.compare import TooFewFitError
from dotloupe.report.text.cautions import caution_text

if TYPE_CHECKING:
    from dotloupe.errors import DotloupeError


def error_text(error: DotloupeError) -> str:
    """Return the message of an error, with the reasons of captures that were left out."""
    return error.message(caution_text) if isinstance(error, TooFewFitError) else str(error)
