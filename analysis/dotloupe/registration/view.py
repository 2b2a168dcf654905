"""A registered capture of a patch, ready for its elements to be cut out."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.capture import Capture, Lighting
from dotloupe.errors import NotFitError
from dotloupe.patch import MARK_MODULES, Axis, Patch, Region
from dotloupe.registration.averaging import LEAST_PER_MM, averaging_step
from dotloupe.registration.cutting import Cut, cut_region, paper_lighting
from dotloupe.registration.registration import Registration
from dotloupe.registration.sight import ShownPatch, is_in_frame, middle_of, whole_mm

AROUND_MM = 0.3
"""Paper in the frame around each element measured: bars are cut out with 0.22 mm of it."""


@dataclass(frozen=True)
class View:
    """A capture, where it lies on its patch, and how the light falls over it."""

    capture: Capture
    registration: Registration
    patch: Patch
    lighting: Lighting

    @property
    def pixels_per_mm(self) -> float:
        """Pixels of a cut per mm at the middle of the patch in sight."""
        return self.sampling(LEAST_PER_MM)

    def sampling(self, least_per_mm: float) -> float:
        """Pixels per mm, at the middle of the patch, of a cut that keeps at least so many."""
        per_mm = self.registration.pixels_per_mm
        return per_mm / averaging_step(per_mm, least_per_mm)

    def cut(
        self, region: Region, margin_mm: float = 0.0, *, least_per_mm: float = LEAST_PER_MM
    ) -> Cut:
        """Cut a region of the patch, the fall of the light taken out.

        Pixels are averaged where at least `least_per_mm` of them to the mm are left.

        Parameters
        ----------
        region : Region
        margin_mm : float
            Added on all sides.
        least_per_mm : float
            Pixels per mm that averaging leaves at least.

        Raises
        ------
        RegionError
            The region reaches over the frame, or the patch lies too far from upright.
        """
        return cut_region(
            self.capture,
            self.registration.homography,
            self.lighting,
            region,
            margin_mm=margin_mm,
            step=averaging_step(self.registration.pixels_per_mm, least_per_mm),
        )

    @cached_property
    def mark_black(self) -> float:
        """Mean luminance factor of the marks' black borders: the darkest that bars could be."""
        levels = []
        for region in self.regions("mark"):
            cut = self.cut(region)
            module_px = region.width_mm / MARK_MODULES * cut.pixels_per_mm_x
            strip = slice(round(0.3 * module_px), max(round(0.7 * module_px), 1))
            levels.append(float(cut.luminance[strip, strip.start : -strip.start or None].mean()))
        return float(np.median(levels))

    @property
    def whole(self) -> bool:
        """Whether the capture shows the whole patch."""
        return self.registration.sight_mm is None

    @cached_property
    def shown(self) -> ShownPatch:
        """The patch; of a part the regions that it shows with what is cut out around them."""
        homography = self.registration.homography
        seen = tuple(
            region
            for region in self.patch.regions.values()
            if self.whole or is_in_frame(self.capture, region, homography, AROUND_MM)
        )
        return ShownPatch(self.patch, self.printed_ppi, seen)

    @property
    def printed_ppi(self) -> float | None:
        """Pixels of the file sent per inch of the print; None where its code is unread."""
        sent = self.registration.sent_ppi
        return None if sent is None else sent / self.patch.scale

    def regions(self, kind: str, axis: Axis | None = None) -> Iterator[Region]:
        """Regions in sight of one kind, and of one direction where one is given."""
        return self.shown.regions(kind, axis)

    @property
    def middle_mm(self) -> FloatArray:
        """Middle (x, y) of the patch as far as it is in sight."""
        return middle_of(self.registration.sight_mm or whole_mm(self.patch))


def view_of(capture: Capture, registration: Registration) -> View:
    """Prepare a capture that was registered on its patch.

    Raises
    ------
    NotFitError
        The capture was registered on a picture.
    """
    if registration.patch is None:
        raise NotFitError(f"{capture.path}: registered on a picture, not on a patch")
    lighting = paper_lighting(capture, registration.patch, registration.homography)
    return View(capture, registration, registration.patch, lighting)
