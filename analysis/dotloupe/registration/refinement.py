"""Refine a homography until an observed image and its reference agree to hundredths of a pixel."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.errors import InputError, NotFitError
from dotloupe.registration.homography import map_points
from dotloupe.registration.window_shifts import WindowShifts, measure_level
from dotloupe.registration.working_resolution import (
    grid_centres,
    points_in_sight,
    prepare_level,
    sampling_ratio,
    usable_centres,
    window_texture,
)

if TYPE_CHECKING:
    from dotloupe.arrays import BoolArray, FloatArray
    from dotloupe.registration.working_resolution import Level

WINDOW_PX = 32
"""Usual side of a window in working pixels; several times the blur, small against the frame."""
SMALLEST_WINDOW_PX = 12
FLOOR_PX = 0.02
"""Least error granted to a window, in working pixels: paper and lens are no perfect plane."""
ITERATIONS = 12
SETTLED_PX = 1e-3
SETTLED_SHARE = 0.5
"""Of the mapping's standard error: each step leaves less than a tenth of itself to do."""
FINER_PREFERRED = 0.6
"""A coarser level is kept where its standard error is below this share of the finer one's."""
LEAST_SPREAD = 0.3
"""Shifts are never believed to be better than this share of what their windows say."""
NEAR_PX = 0.1
"""Standard error in working pixels from which the finest level finds the rest by itself."""
FEWEST_WINDOWS = 16
"""With fewer windows a coarser level knows its own error too badly to be preferred."""
MOST_WINDOWS = 400
PARAMETERS = 8
PLAIN_SHARE = 0.1
"""Of the texture of well-filled windows; a window with less says little."""
ALIKE = 0.5
"""Correlation from which a window shows what the reference holds."""
FRAME_POINTS = 7
"""Along each side of a frame, at which its mapping is judged."""
IN_PLACE_PX = 1.0
"""Working pixels by which a window in place is off at most."""


@dataclass(frozen=True)
class Refinement:
    """A refined homography and how well the images agree under it.

    Attributes
    ----------
    homography : (3, 3) array
        Observed pixel (x, y, 1) to reference pixel, lower right element 1.
    residual_px, residual_reference_px : float
        Rms length of the shifts left between the images under this homography, over the windows
        used, in observed and in reference pixels. It holds the noise of the single windows too,
        so the homography itself is commonly better.
    uncertainty_px : float
        Standard error of the mapping, rms over the middles of the windows, in observed pixels.
    frame_uncertainty_px : float
        The same over the whole of what the frame shows of the reference, out to its corners, where
        a homography is known worst.
    shifts : WindowShifts
        What each window says under the final homography.
    used : (n,) array of bool
        Windows that agree with the homography and took part in the fit.
    """

    homography: FloatArray
    residual_px: float
    residual_reference_px: float
    uncertainty_px: float
    frame_uncertainty_px: float
    shifts: WindowShifts
    used: BoolArray


def refine_homography(
    observed: FloatArray,
    reference: FloatArray,
    homography: FloatArray,
    *,
    windows: FloatArray | None = None,
    window_px: float | None = None,
    start_error_px: float | None = None,
    dot_gain: bool = False,
    finest: int = 1,
) -> Refinement:
    """Refine the homography between an observed image and a reference of any scale.

    Shifts of many windows are measured by least squares with a gain and an offset each, a
    homography is fitted to them robustly, and both are repeated until nothing moves. Light that
    is uneven, a tone scale that differs and dots do no harm as long as windows correlate.

    Parameters
    ----------
    observed : (h, w) array
        Linear reflectance.
    reference : (h, w) array
        What should be seen, linear likewise.
    homography : (3, 3) array
        Observed pixel (x, y, 1) to reference pixel, to be improved.
    windows : (n, 2) array, optional
        Centres (x, y) of the windows in observed pixels; a grid over the overlap otherwise.
    window_px : float, optional
        Side of the windows in observed pixels; 32 pixels of the coarser image otherwise.
    start_error_px : float, optional
        How far off the given homography may be, in observed pixels. It sets how coarse the
        first step is; two pixels of the coarser image otherwise.
    dot_gain : bool
        Dark may have spread over light, by a length of each window's own: of marks on bare paper.
    finest : int
        Reduction of the last step, where the mapping need only be good enough to start from; finer
        ones are taken only where none so coarse finds enough.

    Raises
    ------
    InputError
        Arrays that are not 2-D and finite, or a homography that maps the frame nowhere.
    NotFitError
        Too few windows of the overlap hold anything that the reference holds too.

    References
    ----------
    B. Lucas, T. Kanade, "An iterative image registration technique", IJCAI 1981: the local
    shift. The robust fit is Tukey's biweight by iterated reweighting (from memory).
    """
    observed, reference = _checked(observed, "observed"), _checked(reference, "reference")
    matrix = np.asarray(homography, dtype=float)
    if matrix.shape != (3, 3) or not np.all(np.isfinite(matrix)):
        raise InputError("The homography to refine must be a finite 3 x 3 matrix.")
    centre = (np.array(observed.shape[::-1]) - 1) / 2
    working_px = max(1.0, sampling_ratio(matrix, centre))
    error = 2.0 if start_error_px is None else start_error_px / working_px
    best: Refinement | None = None
    for coarseness in [2**n for n in range(5, 0, -1) if n <= 2 or 2**n <= error / 1.5] + [1]:
        if coarseness > 1 and best is not None and best.uncertainty_px < NEAR_PX * working_px:
            continue
        if coarseness < finest and best is not None:
            break
        level = prepare_level(observed, reference, matrix, coarseness)
        radius = _radius(level, window_px, coarse=coarseness > 1)
        try:
            centres = _centres(level, matrix, radius, windows)
            finer = _iterate(level, matrix, centres, radius, dot_gain)
        except NotFitError:
            continue
        best = finer if best is None else _better(best, finer)
        matrix = best.homography
    if best is None:
        raise NotFitError("Fewer than four windows hold structure found in the reference too.")
    scale = sampling_ratio(best.homography, centre)
    return replace(best, residual_reference_px=best.residual_px / scale)


def _better(coarse: Refinement, finer: Refinement) -> Refinement:
    if np.count_nonzero(coarse.used) < FEWEST_WINDOWS:
        return finer
    return finer if finer.uncertainty_px < coarse.uncertainty_px / FINER_PREFERRED else coarse


def measure_shifts(
    observed: FloatArray,
    reference: FloatArray,
    homography: FloatArray,
    *,
    windows: FloatArray | None = None,
    window_px: float | None = None,
) -> WindowShifts:
    """Shifts of windows under a homography taken as it is: a check that alters nothing.

    Parameters and exceptions are those of `refine_homography`.
    """
    observed, reference = _checked(observed, "observed"), _checked(reference, "reference")
    matrix = np.asarray(homography, dtype=float)
    level = prepare_level(observed, reference, matrix)
    radius = _radius(level, window_px, coarse=False)
    return _measured(level, matrix, _centres(level, matrix, radius, windows), radius)


def agreement(
    observed: FloatArray, reference: FloatArray, homography: FloatArray, *, finest: int = 1
) -> float:
    """Share of the windows where the reference holds something that look like it, and in place.

    Parameters and exceptions are those of `refine_homography`.
    """
    observed, reference = _checked(observed, "observed"), _checked(reference, "reference")
    level = prepare_level(observed, reference, homography, finest)
    radius = _radius(level, None, coarse=finest > 1)
    centres = _centres(level, homography, radius, None)
    shifts = _measured(level, homography, centres, radius)
    texture = window_texture(level, homography, centres, radius)
    holds = texture > PLAIN_SHARE * np.quantile(texture, 0.9)
    moved_px = np.linalg.norm(shifts.shifts, axis=1) / level.step_px
    alike = (shifts.correlation > ALIKE) & (moved_px < IN_PLACE_PX)
    return float(np.mean(alike[holds]))


def rms_shift(shifts: WindowShifts, used: BoolArray) -> float:
    """Rms length of shifts, each component weighted by how well its window knows it."""
    weights = _weights(shifts, FLOOR_PX)[used]
    moved = shifts.shifts[used]
    total = np.einsum("nii->", weights)
    if total <= 0:
        return float("inf")
    return float(np.sqrt(2 * np.einsum("ni,nij,nj->", moved, weights, moved) / total))


def _checked(image: FloatArray, name: str) -> FloatArray:
    array = np.asarray(image)
    if array.ndim != 2 or min(array.shape) < 8:
        raise InputError(f"The {name} image must be 2-D and at least 8 x 8 pixels.")
    if array.dtype.kind != "f":
        array = array.astype(np.float32)
    if not np.isfinite(array.sum()):
        raise InputError(f"The {name} image holds values that are not finite; crop or fill them.")
    return array


def _radius(level: Level, window_px: float | None, *, coarse: bool) -> int:
    """Half a window, in working pixels; smaller where the overlap would hold but a few."""
    if window_px is not None and not coarse:
        return max(SMALLEST_WINDOW_PX // 2, round((window_px / level.step_px - 1) / 2))
    side = min(level.observed.shape)
    return int(np.clip(side / 8, SMALLEST_WINDOW_PX / 2, WINDOW_PX / 2))


def _centres(
    level: Level, homography: FloatArray, radius: int, windows: FloatArray | None
) -> FloatArray:
    """The windows asked for, or those of a grid that hold most, spread over the frame."""
    if windows is not None:
        points = np.asarray(windows, dtype=float).reshape(-1, 2)
        return np.round(map_points(np.linalg.inv(level.observed_to_full), points))
    centres = usable_centres(level, homography, grid_centres(level, radius), radius)
    if len(centres) <= MOST_WINDOWS:
        return centres
    cells = np.floor(6 * centres / np.array(level.observed.shape[::-1])).astype(int) @ [6, 1]
    order = np.lexsort((-window_texture(level, homography, centres, radius), cells))
    rank = np.arange(len(cells)) - np.searchsorted(cells[order], cells[order])
    return centres[order[np.argsort(rank, kind="stable")[:MOST_WINDOWS]]]


def _iterate(
    level: Level, homography: FloatArray, centres: FloatArray, radius: int, dot_gain: bool
) -> Refinement:
    """Measure, fit and repeat on one level until the mapping settles."""
    matrix = homography
    furthest = radius * level.step_px / 2
    shared: dict[int, float] = {}
    for _ in range(ITERATIONS):
        shifts = _measured(level, matrix, centres, radius, dot_gain)
        count = len(shifts.centres)
        if count not in shared:
            shared[count] = _shared(shifts)
        bounded = replace(shifts, shifts=np.clip(shifts.shifts, -furthest, furthest))
        fit = _fit(bounded, level, shared[count])
        matrix = matrix @ fit.increment
        matrix = matrix / matrix[2, 2]
        moved = map_points(fit.increment, shifts.centres) - shifts.centres
        uncertainty_px = fit.standard_error(shifts.centres)
        settled_px = max(SETTLED_PX * level.step_px, SETTLED_SHARE * uncertainty_px)
        if np.sqrt(np.mean(np.sum(moved**2, axis=1))) < settled_px:
            break
    left = replace(shifts, shifts=shifts.shifts - moved)
    shown = map_points(level.observed_to_full, points_in_sight(level, matrix, FRAME_POINTS))
    judged_at = shown if len(shown) else shifts.centres
    return Refinement(
        homography=matrix,
        residual_px=rms_shift(left, fit.used),
        residual_reference_px=np.nan,
        uncertainty_px=uncertainty_px,
        frame_uncertainty_px=fit.standard_error(judged_at),
        shifts=left,
        used=fit.used,
    )


def _measured(
    level: Level, matrix: FloatArray, centres: FloatArray, radius: int, dot_gain: bool = False
) -> WindowShifts:
    usable = usable_centres(level, matrix, centres, radius)
    if not len(usable):
        raise NotFitError("The frame and its reference do not overlap; locate the frame anew.")
    return measure_level(level, matrix, usable, radius, dot_gain=dot_gain)


def _weights(shifts: WindowShifts, floor_px: float) -> FloatArray:
    """Inverse covariance of each shift, zero for windows that do not correlate."""
    inverse = np.linalg.inv(shifts.covariance + floor_px**2 * np.eye(2))
    alike = np.clip((shifts.correlation - 0.2) / 0.2, 0.0, 1.0)
    return np.asarray(inverse * alike[:, None, None])


@dataclass(frozen=True)
class _Fit:
    """Robust small homography through shifts, the windows it rests on, and how well it is known.

    `covariance` is that of the parameters of `_design`, at points taken from `middle` in units of
    `reach`.
    """

    increment: FloatArray
    used: BoolArray
    covariance: FloatArray
    middle: FloatArray
    reach: float

    def standard_error(self, points: FloatArray) -> float:
        """Of where the mapping puts points (n, 2), rms over them, in observed pixels."""
        columns = _design((points - self.middle) / self.reach).reshape(-1, PARAMETERS)
        variance = np.sum(columns * (columns @ self.covariance), axis=1)
        return float(np.sqrt(np.mean(variance.reshape(-1, 2).sum(axis=1))))


def _fit(shifts: WindowShifts, level: Level, shared: float) -> _Fit:
    """Fit a small homography to shifts; `shared` is how often the windows use a pixel."""
    weights = _weights(shifts, FLOOR_PX * level.step_px)
    middle = shifts.centres.mean(axis=0)
    reach = max(float(np.abs(shifts.centres - middle).max()), shifts.window_px)
    design = _design((shifts.centres - middle) / reach)
    # Unsupported perspective is held to a pixel over the frame, the rest to many.
    held = np.diag(1.0 / (np.array([9.0, 9, 9, 9, 9, 9, 1, 1]) * level.step_px) ** 2)
    live = np.einsum("nii->n", weights) > 1e-6 / level.step_px**2
    if np.count_nonzero(live) < 4:
        raise NotFitError("Fewer than four windows hold structure found in the reference too.")
    count = int(np.count_nonzero(live))
    freedom = float(np.sqrt(2 * count / max(2 * count - PARAMETERS, 2)))
    robust = live.astype(float)
    columns = design.reshape(-1, PARAMETERS)
    weighted = (weights @ design).reshape(-1, PARAMETERS)
    for _ in range(20):
        effective = weighted * np.repeat(robust, 2)[:, None]
        normal = columns.T @ effective + held
        solution = np.linalg.solve(normal, effective.T @ shifts.shifts.ravel())
        left = shifts.shifts - design @ solution
        distance = np.sqrt(np.sum(left * (weights @ left[:, :, None])[:, :, 0], axis=1))
        spread = max(float(np.median(distance[live])) / 1.1774 * freedom, LEAST_SPREAD)
        updated = np.clip(1 - (distance / (5.0 * spread)) ** 2, 0.0, None) ** 2 * live
        settled = np.max(np.abs(updated - robust)) < 1e-3
        robust = updated
        if settled:
            break
    covariance = np.linalg.inv(normal) * spread**2 * shared
    to_unit = np.array([[1, 0, -middle[0]], [0, 1, -middle[1]], [0, 0, reach]]) / reach
    a, b, c, d, e, f, g, h = solution / reach
    small = np.array([[1 + a, b, c], [d, 1 + e, f], [g, h, 1.0]])
    increment = np.linalg.inv(to_unit) @ small @ to_unit
    return _Fit(increment, robust > 0, covariance, middle, reach)


def _shared(shifts: WindowShifts) -> float:
    """How many times a window's pixels are used: overlapping windows are no independent witnesses.

    The correlation of two sine tapers displaced by a share t of their length is
    (1 - t) cos(pi t) + sin(pi t) / pi (derived).
    """
    common = np.ones(())
    for along in shifts.centres.T:
        # Windows stand on a grid: few places, and many windows at each.
        places, place = np.unique(along, return_inverse=True)
        t = np.minimum(np.abs(places[:, None] - places) / shifts.window_px, 1.0)
        shared = (1 - t) * np.cos(np.pi * t) + np.sin(np.pi * t) / np.pi
        common = common * shared[place[:, None], place]
    return float(common.sum() / len(shifts.centres))


def _design(unit: FloatArray) -> FloatArray:
    """Derivative of the shift by the eight parameters of a small homography, (n, 2, 8)."""
    u, v = unit[:, 0], unit[:, 1]
    zero, one = np.zeros_like(u), np.ones_like(u)
    along_x = np.stack([u, v, one, zero, zero, zero, -u * u, -u * v], axis=-1)
    along_y = np.stack([zero, zero, zero, u, v, one, -u * v, -v * v], axis=-1)
    return np.stack([along_x, along_y], axis=1)
