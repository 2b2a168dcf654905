"""Errors that are messages to a person: which file, what is wrong, what to do."""

from __future__ import annotations


class DotloupeError(ValueError):
    """Anything that dotloupe refuses to do, with the reason in one line."""


class InputError(DotloupeError):
    """A file, a folder or a request at fault (exit status 2)."""


class NotFitError(DotloupeError):
    """A photograph that was read but cannot be measured (exit status 3 when none can)."""


class RegionError(DotloupeError):
    """A region of pixels that does not hold what the measurement asks for."""
