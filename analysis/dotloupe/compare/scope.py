"""What a comparison speaks of: settings where prints were repeated, else the prints in hand."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Iterable

Scope: TypeAlias = Literal["settings", "prints"]

SECOND_PRINT = "Whether the settings differ needs a second print of each."

ONE_PRINT = (
    "one print a setting: every place, interval and difference holds for these prints alone; what "
    "another print of the same setting would show is not known, and whether the settings differ "
    "needs a second print of each"
)


def scope_of(prints: Iterable[int]) -> Scope:
    """Return "prints" where each of them has one print, else "settings"."""
    return "prints" if set(prints) == {1} else "settings"


def subject(name: str, scope: Scope) -> str:
    """Return what a sentence may speak of: the setting, or the one print of it."""
    return name if scope == "settings" else f"this print of {name}"


def beyond(scope: Scope) -> str:
    """Return what a difference has to exceed, to stand after "by more than"."""
    return "repeats vary" if scope == "settings" else "their measurement leaves open"
