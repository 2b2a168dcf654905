"""What a comparison speaks of: settings where prints were repeated, else the prints in hand."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Iterable

Scope: TypeAlias = Literal["settings", "prints"]


def scope_of(prints: Iterable[int]) -> Scope:
    """Return "prints" where each of them has one print, else "settings"."""
    return "prints" if set(prints) == {1} else "settings"
