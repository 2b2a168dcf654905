"""What a comparison speaks of: settings where prints were repeated, else the prints in hand."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Iterable

Scope: TypeAlias = Literal["settings", "prints"]

ONE_PRINT = (
    "one print a setting: every place, interval and difference holds for these prints alone; what "
    "another print of the same setting would show is not known, and whether the settings differ "
    "needs a second print of each"
)


def scope_of(prints: Iterable[int]) -> Scope:
    """Return "prints" where each of them has one print, else "settings"."""
    return "prints" if set(prints) == {1} else "settings"
