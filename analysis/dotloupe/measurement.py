"""The numbers of one capture, gathered from every element of its patch."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field, replace
from pathlib import PurePath
from typing import TYPE_CHECKING, Any, Literal

from dotloupe.storage import as_text

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from dotloupe.capture import Capture

Direction = Literal["higher", "lower"]
CAMERA_INCLUDED = "camera included"
"""Said of numbers from which the camera's own softness was not taken out."""
CAMERA_TAKEN_OUT = "camera taken out"
"""Said of edges and grain from which it was."""


@dataclass(frozen=True)
class Criterion:
    """What a number stands for and which way is better."""

    name: str
    unit: str
    better: Direction
    title: str


CRITERIA: Mapping[str, Criterion] = {
    c.name: c
    for c in (
        Criterion("detail_x", "cycles/mm", "higher", "Detail along x (MTF50)"),
        Criterion("detail_y", "cycles/mm", "higher", "Detail along y (MTF50)"),
        Criterion("line_pairs_x", "lp/mm", "higher", "Line pairs resolved along x"),
        Criterion("line_pairs_y", "lp/mm", "higher", "Line pairs resolved along y"),
        Criterion("grain", "L* rms", "lower", "Visible grain"),
    )
}

PICTURE_CRITERIA: Mapping[str, Criterion] = {
    c.name: c
    for c in (
        Criterion(
            "picture_kept_x", "cycles/mm", "higher", "Own picture: detail kept along x (half of it)"
        ),
        Criterion(
            "picture_kept_y", "cycles/mm", "higher", "Own picture: detail kept along y (half of it)"
        ),
        Criterion("response_x", "cycles/mm", "higher", "Response to content along x (half)"),
        Criterion("response_y", "cycles/mm", "higher", "Response to content along y (half)"),
    )
}
"""What joins the criteria where one's own picture was photographed."""


def criteria_of(measurements: Iterable[Measurement]) -> Mapping[str, Criterion]:
    """Criteria that measurements may be ranked by, in the units that they have.

    Those of one's own picture are among them where it was photographed; one that some have in
    cycles/mm and some, whose printed size is unknown, in cycles per picture pixel is not.
    """
    measurements = list(measurements)
    if not any("own_picture" in m.details for m in measurements):
        return CRITERIA
    found = dict(CRITERIA)
    for name, criterion in PICTURE_CRITERIA.items():
        units = {m.numbers[name].unit for m in measurements if name in m.numbers}
        if len(units) == 1:
            found[name] = replace(criterion, unit=units.pop())
    return found


@dataclass(frozen=True)
class Number:
    """One scalar with its 95 % interval and its unit."""

    value: float
    low: float
    high: float
    unit: str

    def to_dict(self) -> dict[str, float | str | None]:
        """Plain values; an end of the interval that the capture leaves open is None."""
        ends = (e if math.isfinite(e) else None for e in (self.low, self.high))
        return {
            "value": self.value,
            **dict(zip(("low", "high"), ends, strict=True)),
            "unit": self.unit,
        }


@dataclass(frozen=True)
class Measurement:
    """Every number of one capture.

    Attributes
    ----------
    path, sha256 : str
        The capture measured, and the hash of its file (empty where it could not be read).
    print_id : str
        Captures of one setting that share it are photographs of one print.
    run : int or None
        Run number read from the corner marks.
    sent_ppi : float or None
        Resolution of the file sent to the printer, read from the patch's code.
    fit : bool
        False where no number may be published; `reasons` says why.
    reasons, warnings : tuple of str
        Why the capture is not fit; what a reader of the numbers must know.
    numbers : mapping of str to Number
        Keyed by the names of `CRITERIA`, and further ones.
    """

    path: str
    sha256: str
    print_id: str
    run: int | None
    sent_ppi: float | None
    fit: bool
    reasons: tuple[str, ...]
    warnings: tuple[str, ...]
    numbers: Mapping[str, Number]
    details: Mapping[str, Any] = field(default_factory=dict)

    def to_dict(self) -> dict[str, Any]:
        """Plain values for a JSON file: what the capture is, and every number with its unit."""
        return {
            "path": self.path,
            "sha256": self.sha256,
            "print": self.print_id,
            "run": self.run,
            "sent_ppi": self.sent_ppi,
            "fit": self.fit,
            "reasons": list(self.reasons),
            "warnings": list(self.warnings),
            "numbers": {name: number.to_dict() for name, number in self.numbers.items()},
        }


def camera_said(measurements: Iterable[Measurement], name: str) -> str:
    """Say whether the camera's own softness is in a number of `CRITERIA`.

    Bars keep it always, whatever was taken out of edges and grain.
    """
    if not name.startswith(("detail_", "line_pairs_", "grain")):
        return ""
    said = {CAMERA_TAKEN_OUT in m.warnings for m in measurements if m.fit}
    if name.startswith("line_pairs_") or True not in said:
        return CAMERA_INCLUDED
    return CAMERA_TAKEN_OUT if said == {True} else "camera taken out of some"


def print_id(path: str) -> str:
    """Name of the print that a file shows: its stem without a closing `_shot2` or the like."""
    return as_text(re.sub(r"_shot\d+$", "", PurePath(path).stem))


def unread(path: str, reason: str) -> Measurement:
    """Stand for a file that could not be read: no hash, no number, the reason."""
    return Measurement(path, "", print_id(path), None, None, False, (reason,), (), {})


def not_fit(capture: Capture, reason: str) -> Measurement:
    """Stand for a capture that cannot be measured, for a reason."""
    return replace(unread(capture.path, reason), sha256=capture.sha256, warnings=capture.warnings)


def without_marks(
    capture: Capture,
    numbers: Mapping[str, Number],
    *,
    reasons: tuple[str, ...],
    warnings: tuple[str, ...],
    details: Mapping[str, Any],
) -> Measurement:
    """Measurement of a photograph without marks; where it gave no number the reasons say why."""
    return Measurement(
        path=capture.path,
        sha256=capture.sha256,
        print_id=print_id(capture.path),
        run=None,
        sent_ppi=None,
        fit=bool(numbers),
        reasons=() if numbers else reasons,
        warnings=(*capture.warnings, *warnings),
        numbers=numbers,
        details=details,
    )
