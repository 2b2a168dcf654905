"""What a sentence on a comparison may speak of: settings, or the prints in hand."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from dotloupe.compare import Scope

SECOND_PRINT = "Whether the settings differ needs a second print of each."


def subject(name: str, scope: Scope) -> str:
    """Return what a sentence may speak of: the setting, or the one print of it."""
    return name if scope == "settings" else f"this print of {name}"


def beyond(scope: Scope) -> str:
    """Return what a difference has to exceed, to stand after "by more than"."""
    return "repeat prints do" if scope == "settings" else "their own uncertainty"
