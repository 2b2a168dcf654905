"""What must be corrected of published numbers, a line each."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from dotloupe.compare import Correction


def correction_line(found: Correction) -> str:
    """Say in one line what was published and what it is now."""
    subject = f"{found.criterion}, {found.subject}"
    if found.kind == "place":
        return f"{subject}: published as {found.published}, now {found.now}"
    if found.kind in ("enough", "outstanding"):
        was, now = _ppi(found.published), _ppi(found.now)
        return f"{found.criterion}: {found.kind} was published as {was}, now {now}"
    if found.kind == "told apart":
        return (
            f"{subject}: a difference that the prints {'show' if found.now else 'do not show'} now"
        )
    interval = f"{found.published:.4g} ({_end(found.low)} to {_end(found.high)}) {found.unit}"
    if found.kind == "missing":
        return f"{subject}: {interval} was published, there is no value now"
    return f"{subject}: {interval} was published, now {found.now:.4g} {found.unit}"


def _ppi(value: float | list[float] | None) -> str:
    values = value if isinstance(value, list) else [] if value is None else [value]
    return ", ".join(f"{v:g} ppi" for v in values) or "none"


def _end(value: float | None) -> str:
    return "open" if value is None else f"{value:.4g}"
