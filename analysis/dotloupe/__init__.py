"""How much detail a photo printer puts on paper, measured from photographs of printed patches."""

from __future__ import annotations

from importlib import import_module

TYPE_CHECKING = False
"""As `typing` has it, which takes as long to load as a third of an interpreter's start."""

__version__ = "0.1.0"

_HOMES = {
    "Capture": "dotloupe.capture.capture",
    "History": "dotloupe.compare.history",
    "Measurement": "dotloupe.measurement",
    "Patch": "dotloupe.patch.patch",
    "camera_response": "dotloupe.reference_edge",
    "grain": "dotloupe.measure.grain",
    "ladder": "dotloupe.compare.ladder",
    "line_pairs": "dotloupe.measure.line_pairs",
    "load_capture": "dotloupe.capture.reading",
    "load_captures": "dotloupe.capture.reading",
    "measure_capture": "dotloupe.measurement",
    "rank": "dotloupe.compare.rank",
    "register": "dotloupe.registration.register",
    "slanted_edge": "dotloupe.measure.edge",
    "write_report": "dotloupe.report.page",
}

__all__ = sorted(_HOMES)

if TYPE_CHECKING:
    from typing import Any

    from dotloupe.patch.patch import Patch as Patch


def __getattr__(name: str) -> Any:
    """Load a public name when it is first used, so that the command starts at once."""
    if name not in _HOMES:
        raise AttributeError(f"module 'dotloupe' has no attribute {name!r}")
    return getattr(import_module(_HOMES[name]), name)


def __dir__() -> list[str]:
    """List the public names."""
    return __all__
