"""Where things lie on a patch: rectangles in millimetres with what they hold."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

Axis = Literal["x", "y"]
RegionKind = Literal[
    "mark", "code", "text", "edge", "tint", "bars", "texture", "line", "picture", "grating", "plain"
]


@dataclass(frozen=True)
class Region:
    """A rectangle of the patch that holds one thing to find or to measure.

    Attributes
    ----------
    name : str
        Unique within the patch.
    kind : str
        What the rectangle holds.
    x_mm, y_mm : float
        Its top left corner, from the top left corner of the patch.
    width_mm, height_mm : float
        Its size.
    direction : {"x", "y"} or None
        The axis along which an edge, a bar group, a line or a grating modulates: bars that run
        along y modulate along x.
    tone : str
        Name of the tone pair of an edge, of a tint, or of what a grating swings about.
    reflectance : float or None
        What a neutral tint, or the mean of a grating, is sent as: its linear reflectance relative
        to the paper (paper = 1). None of colours and of all else.
    ink : str
        The ink primary of a line, or the one that a colour grating sets against the other two.
    frequency : float
        Line pairs per mm of a bar group or a grating, else 0.
    modulation : float
        Swing of a grating over its mean, else 0.
    bars : int
        Number of dark bars of a group, else 0.
    number : int
        Which one it is of its like, from 1: edges of one tone and direction, lines of one
        direction in order of place, corner marks clockwise from the top left, a grating and its
        mirror image. Else 0.
    """

    name: str
    kind: RegionKind
    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    direction: Axis | None = None
    tone: str = ""
    reflectance: float | None = None
    ink: str = ""
    frequency: float = 0.0
    bars: int = 0
    modulation: float = 0.0
    number: int = 0

    @property
    def centre_mm(self) -> tuple[float, float]:
        """Centre (x, y) in mm."""
        return self.x_mm + self.width_mm / 2, self.y_mm + self.height_mm / 2

    @property
    def corners_mm(self) -> tuple[tuple[float, float], ...]:
        """The four corners (x, y) in mm, clockwise from the top left."""
        right, bottom = self.x_mm + self.width_mm, self.y_mm + self.height_mm
        return (self.x_mm, self.y_mm), (right, self.y_mm), (right, bottom), (self.x_mm, bottom)

    def across(self) -> Region:
        """Return the same, its direction along the other axis."""
        if self.direction is None:
            return self
        return replace(self, direction="y" if self.direction == "x" else "x")

    def scaled(self, scale: float) -> Region:
        """Return the same as printed `scale` times as large."""
        return replace(
            self,
            x_mm=self.x_mm * scale,
            y_mm=self.y_mm * scale,
            width_mm=self.width_mm * scale,
            height_mm=self.height_mm * scale,
            frequency=self.frequency / scale,
        )
