"""The numbers of one capture, gathered from every element of its patch."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    from collections.abc import Mapping

Direction = Literal["higher", "lower"]


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


@dataclass(frozen=True)
class Number:
    """One scalar with its 95 % interval and its unit."""

    value: float
    low: float
    high: float
    unit: str


@dataclass(frozen=True)
class Measurement:
    """Every number of one capture.

    Attributes
    ----------
    path, sha256 : str
        The capture measured, and the hash of its file.
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
