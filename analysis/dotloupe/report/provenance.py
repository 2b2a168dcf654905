"""Where the numbers of a result come from: captures with their hashes, and parameters."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from dotloupe.compare.history import Trend
from dotloupe.measurement import CAMERA_INCLUDED
from dotloupe.report.settings import settings_of
from dotloupe.report.text import counted, phrase

UNKNOWN = "–"
PLAINLY = {
    CAMERA_INCLUDED: "the camera's own softness is in the numbers, as no reference edge was given"
}
"""What a reader is told in place of the short word for it."""
SAID_OF = {
    "family_error": "chance that a criterion tells any two settings apart where none differ",
    "power": "chance with which a smallest difference that is named would be found",
    "weights": "share with which the visible steps of each criterion count overall",
    "viewing_distance_mm": "viewing distance, mm",
}
"""What the parameters of a comparison are."""


@dataclass(frozen=True)
class Sources:
    """The captures behind a result as a table, the hash last.

    Attributes
    ----------
    heads : tuple of str
    rows : tuple of tuple of str
    warnings : tuple of (str, str)
        How many captures carry a warning, and the warning.
    """

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    warnings: tuple[tuple[str, str], ...]


def sources_of(result: Any) -> Sources:
    """List every capture that the result rests on."""
    if isinstance(result, Trend):
        return _trend_sources(result)
    heads = ("Setting", "Capture", "Print", "Run", "Sent ppi", "Left in registration, um")
    rows, warned = [], dict[str, int]()
    for setting in settings_of(result):
        for m in setting.measurements:
            residual = UNKNOWN if m.registration is None else f"{m.registration.residual_um:.1f}"
            facts = (_known(m.run), _known(m.sent_ppi), residual)
            rows.append((setting.name, m.path, m.print_id, *facts, m.sha256))
            for warning in (PLAINLY.get(w, w) for w in m.warnings):
                warned[warning] = warned.get(warning, 0) + 1
    warnings = tuple(
        ("every capture" if count == len(rows) else counted(count, "capture"), warning)
        for warning, count in warned.items()
    )
    return Sources((*heads, "SHA-256"), tuple(rows), warnings)


def parameters_of(result: Any) -> list[tuple[str, str]]:
    """Name and value of every parameter of the comparison."""
    if isinstance(result, Trend):
        chosen = {"printer": result.printer, "mode": result.mode, "paper": result.paper}
        return [("criterion", phrase(result.criterion, result.title)), *chosen.items()]
    return [
        (SAID_OF.get(name, _said(name)), _parameter(value))
        for name, value in result.parameters.items()
    ]


def _trend_sources(trend: Trend) -> Sources:
    rows = tuple(
        (str(p.printed_on), p.print_id, _known(p.run), ", ".join(p.versions), capture)
        for p in trend.points
        for capture in p.captures
    )
    return Sources(("Printed on", "Print", "Run", "Measured by version", "SHA-256"), rows, ())


def _parameter(value: Any) -> str:
    if isinstance(value, Mapping):
        return ", ".join(f"{_said(str(k))} {_parameter(v)}" for k, v in value.items())
    if isinstance(value, list):
        return "; ".join(map(_parameter, value))
    return f"{value:g}" if isinstance(value, float) else str(value)


def _said(name: str) -> str:
    return phrase(name, name.replace("_", " "))


def _known(value: float | None) -> str:
    return UNKNOWN if value is None else f"{value:g}"
