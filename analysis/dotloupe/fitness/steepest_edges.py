"""The steepest light in a print: no camera that blurs by more could have shown it.

What is printed lies between black and bare paper. Behind a lens whose line spread has the peak L,
light rises by at most L times that range a mm, whatever was printed: solid edges, single dots and
the sides of a coarse halftone all tell. A lens out of focus spreads a point over an even disc of
diameter D; its line spread peaks at 4 / (pi D), and its variance along an axis is D^2 / 16, which
is 1 / (pi L)^2 (derived). So the steepest rise bounds the blur of the camera in each direction.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.patch import PAPER_TONE, Region
from dotloupe.registration import View, map_points

WORKING_PER_MM = 60.0
"""Finer photographs are averaged over whole pixels, which keeps their noise out of it."""
SHARE = 0.001
FEWEST = 10
"""Of an element's pixels, that share and at least so many must rise as steeply: no speck alone."""
NOISE_SIGMAS = 3.0
"""Of the noise's own differences, taken off: of many pixels the steepest are helped by it."""
MEDIAN_SIGMA = 1.4826
"""Standard deviation of normal values over the median of their distance from zero."""
AROUND_MM = 0.1
LEAST_SIDE_PX = 12
COARSE_LP_PER_MM = 4.5
"""Bars as wide as a mark's modules or so; finer ones are never quite black."""
GREEN = 1
DIRECTIONS = 4
"""Of the rise: along the frame's rows, down to the right, along its columns, down to the left."""


@dataclass(frozen=True)
class SteepestEdges:
    """How much the camera blurs at most, element by element.

    Attributes
    ----------
    names, kinds : tuple of str
        The elements; those of one kind are drawn alike, so that a level camera shows them alike.
    centres_mm : ndarray of shape (n, 2)
        On the patch.
    variance_um2 : ndarray of shape (n, 4)
        Blur by direction of the rise, as the variance of the disc with such a peak, less what the
        pixels take; infinite where nothing stands out of the noise.
    """

    names: tuple[str, ...]
    kinds: tuple[str, ...]
    centres_mm: FloatArray
    variance_um2: FloatArray


def steepest_edges(view: View) -> SteepestEdges:
    """Look for the steepest light of every element that may hold dots or edges."""
    chosen = [(region, kind) for region in view.shown.in_sight if (kind := _kind(region))]
    found, noises, black = [], [], 1.0
    for region, kind in chosen:
        light, pixel_um = _light(view, region)
        if min(light.shape) < LEAST_SIDE_PX:
            continue
        steps = _steps(light)
        if kind == "mark":
            black = min(black, float(np.quantile(light, 0.02)))
            noises.append([MEDIAN_SIGMA * float(np.median(s)) for s in steps])
        found.append((region, kind, [_steepest(s) for s in steps], pixel_um))
    noise = np.min(noises, axis=0) if noises else np.zeros(DIRECTIONS)
    apart = np.array([1.0, np.sqrt(2), 1.0, np.sqrt(2)])
    variance = np.array(
        [
            _variance_um2(np.array(steepest) - NOISE_SIGMAS * noise, 1 - black, pixel_um * apart)
            for _, _, steepest, pixel_um in found
        ]
    ).reshape(-1, DIRECTIONS)
    return SteepestEdges(
        names=tuple(region.name for region, *_ in found),
        kinds=tuple(kind for _, kind, *_ in found),
        centres_mm=np.array([region.centre_mm for region, *_ in found]).reshape(-1, 2),
        variance_um2=variance,
    )


def _kind(region: Region) -> str:
    """Which elements a region is drawn like; empty where it is not looked at."""
    if region.kind in ("mark", "code"):
        return region.kind
    if region.kind == "bars" and region.frequency < COARSE_LP_PER_MM:
        return f"bars {region.direction}"
    if region.kind == "edge":
        return f"edge {region.tone}"
    if region.kind == "tint" and region.tone != PAPER_TONE:
        return f"tint {region.tone}"
    return ""


def _light(view: View, region: Region) -> tuple[FloatArray, float]:
    """Green light of a region and a little about it, its paper 1, and the side of a pixel in um."""
    capture, registration = view.capture, view.registration
    step = max(1, int(registration.pixels_per_mm / WORKING_PER_MM))
    around = AROUND_MM * np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)])
    inverse = np.linalg.inv(registration.homography)
    seen = map_points(inverse, np.array(region.corners_mm) + around)
    size = np.array(capture.shape[::-1])
    first = np.clip(np.floor(seen.min(axis=0)).astype(int), 0, size)
    last = np.clip(np.ceil(seen.max(axis=0)).astype(int) + 1, 0, size)
    columns, rows = np.maximum(last - first, 0) // step * step
    coded = capture.pixels[first[1] : first[1] + rows, first[0] : first[0] + columns, GREEN]
    middle = map_points(inverse, np.array([region.centre_mm]))
    paper = float(view.lighting.over(*middle.T)[0, GREEN]) * capture.paper_level[GREEN]
    if not coded.size:
        return np.zeros((0, 0)), 1000 / registration.pixels_per_mm
    light = cv2.LUT(np.ascontiguousarray(coded), capture.linear)
    if step > 1:
        light = cv2.resize(light, (columns // step, rows // step), interpolation=cv2.INTER_AREA)
    return np.asarray(light / np.float32(paper)), 1000 * step / registration.pixels_per_mm


def _steps(light: FloatArray) -> list[FloatArray]:
    """Differences between neighbours in the four directions, without their sign."""
    pairs = (
        (light[:, 1:], light[:, :-1]),
        (light[1:, 1:], light[:-1, :-1]),
        (light[1:], light[:-1]),
        (light[1:, :-1], light[:-1, 1:]),
    )
    return [np.asarray(cv2.absdiff(one, other), dtype=np.float32).ravel() for one, other in pairs]


def _steepest(steps: FloatArray) -> float:
    """Step that the steepest pixels reach or pass."""
    least = max(int(SHARE * steps.size), FEWEST)
    return float(np.partition(steps, -least)[-least])


def _variance_um2(steps: FloatArray, span: float, length_um: FloatArray) -> FloatArray:
    """Blur variance of steps between pixels so far apart.

    The pixel's own width and the difference of two take a twelfth of their square each.
    """
    with np.errstate(divide="ignore"):
        peak = np.where(steps > 0, steps / (span * length_um), 0.0)
        return np.maximum(1 / (np.pi * peak) ** 2 - length_um**2 / 6, 0.0)
