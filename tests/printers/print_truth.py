"""What is true of one print of these models: its own edges and tints, without any camera."""

from __future__ import annotations

import sys
from functools import cache
from pathlib import Path
from types import SimpleNamespace

import numpy as np
from scipy.signal.windows import tukey

sys.path.insert(0, str(Path(__file__).parents[1]))

from simulated_truth.edges import edge_truth, geometric_mean, half_modulation, mid_edges

from dotloupe import Patch
from dotloupe.errors import RegionError
from dotloupe.measure.edge import slanted_edge
from dotloupe.measure.seeing import cycles_per_degree, dooley_shaw_transfer, lightness_slope
from dotloupe.patch.layout import COLOURS, GREYS

from .printed import LEVELS_AT_FULL, MARGIN_MM, MM_PER_INCH, Driver, Method, Print, Printer

LUMINANCE = (0.2126, 0.7152, 0.0722)
VIEWING_MM, INSET_MM = 350.0, 0.2
TAPERED = 0.25
"""Share of a tint's side, so that most of the tint counts in full."""
LARGE_MM, LARGE_SEED = 12.0, 5
TINTS = tuple(name for name in GREYS | COLOURS if name != "paper")


class Sheet:
    """A print of these models as `edge_truth` asks for one."""

    def __init__(self, printed: Print, sent_ppi: float, raster_ppi: float) -> None:
        self.printed, self.sent_ppi = printed, sent_ppi
        self.pixels_per_mm = printed.pixels_per_mm
        self.printer = SimpleNamespace(raster_ppi=raster_ppi)

    def _box(self, window_mm: tuple[float, ...]) -> list[int]:
        return [round((v + MARGIN_MM) * self.printed.pixels_per_mm) for v in window_mm]

    def window(self, window_mm: tuple[float, ...], *, weights: tuple[float, ...]) -> np.ndarray:
        left, top, right, bottom = self._box(window_mm)
        part = self.printed.levels[:, top:bottom, left:right] / LEVELS_AT_FULL
        return np.tensordot(weights, part / np.array(self.printed.paper)[:, None, None], axes=1)

    def pixel_places_mm(self, window_mm: tuple[float, ...]) -> list[np.ndarray]:
        left, top, right, bottom = self._box(window_mm)
        per_mm = self.printed.pixels_per_mm
        x, y = ((np.arange(*ends) + 0.5) / per_mm for ends in ((left, right), (top, bottom)))
        return np.meshgrid(x - MARGIN_MM, y - MARGIN_MM)


def of_the_raster(frequency: np.ndarray, printed: Print) -> np.ndarray:
    """What looking between the pixels of a print's raster in a straight line costs."""
    return np.sinc(frequency / printed.pixels_per_mm) ** 2


def true_detail(printed: Print, patch: Patch, raster_ppi: float, axis: str) -> tuple[float, float]:
    """Geometric means over this print's mid-tone edges: on its raster, and by the drawn line."""
    sheet = Sheet(printed, patch.sent_ppi, raster_ppi)
    measured, plain = [], []
    for window, line in mid_edges(patch, axis):
        truth = edge_truth(sheet, window, line)  # type: ignore[arg-type]
        seen = truth.mtf * of_the_raster(truth.frequency, printed)
        plain.append(half_modulation(truth.frequency, seen))
        left, top, right, bottom = window
        cut = printed.cut(left, top, right - left, bottom - top) @ np.array(LUMINANCE)
        try:
            edge = slanted_edge(cut, printed.pixels_per_mm)
        except RegionError:
            # too coarse a halftone for a line of its own: by the drawn one
            measured.append(plain[-1])
            continue
        seen = edge.mtf * of_the_raster(edge.frequency, printed)
        measured.append(half_modulation(edge.frequency, seen))
    return geometric_mean(measured), geometric_mean(plain)


@cache
def screen_grain(printer: Printer, sent_ppi: int, method: Method) -> float:
    """Visible grain of a screen by large tints: a screen is the same in every print.

    In a window of 3 mm its peaks are wide enough to reach where the eye sees more: 2 to 4 % more.
    """
    squares = []
    for name in TINTS:
        side = round(LARGE_MM * sent_ppi / MM_PER_INCH)
        drawing = np.broadcast_to(np.array((GREYS | COLOURS)[name]), (side, side, 3)).copy()
        driver = Driver(printer.driver.raster_ppi, method)
        printed = printer.print_drawing(drawing, sent_ppi, LARGE_SEED, driver=driver)
        light = printed.cut(0, 0, LARGE_MM, LARGE_MM) @ np.array(LUMINANCE)
        squares.append(_visible_variance(light, printed, tapered=1.0))
    return float(np.sqrt(np.mean(squares)))


def own_grain(printed: Print, patch: Patch, raster_ppi: float) -> float:
    """Visible grain of this print's tints by their tapered spectra, the paper's own included."""
    sheet, squares = Sheet(printed, patch.sent_ppi, raster_ppi), []
    for name in TINTS:
        (left, top), _, (right, bottom), _ = patch.regions[f"tint_{name}"].corners_mm
        window = (left + INSET_MM, top + INSET_MM, right - INSET_MM, bottom - INSET_MM)
        squares.append(_visible_variance(sheet.window(window, weights=LUMINANCE), printed))
    return float(np.sqrt(np.mean(squares)))


def _visible_variance(light: np.ndarray, printed: Print, tapered: float = TAPERED) -> float:
    """Variance of lightness behind the eye."""
    taper = tukey(light.shape[0], tapered)[:, None] * tukey(light.shape[1], tapered)[None]
    mean = float((light * taper).sum() / taper.sum())
    power = np.abs(np.fft.fft2((light - mean) * taper)) ** 2 / (taper**2).sum() / light.size
    fy, fx = (np.fft.fftfreq(n, 1 / printed.pixels_per_mm) for n in light.shape)
    eye = dooley_shaw_transfer(cycles_per_degree(np.hypot(fx, fy[:, None]), VIEWING_MM))
    return float(lightness_slope(mean)) ** 2 * float((power * eye**2).sum())
