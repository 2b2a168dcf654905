"""Candidates for where a frame lies in a picture, from features matched across scales."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from dotloupe.registration.homography import map_points
from dotloupe.registration.working_resolution import block_mean, block_to_full

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from dotloupe.arrays import FloatArray

FEWEST_AGREEING = 4
MOST_PAIRS = 2000
PROPOSALS = 5


@dataclass(frozen=True)
class Features:
    """Key points of an image: place (x, y) and size in its full pixels, angle in radians."""

    points: FloatArray
    sizes: FloatArray
    angles: FloatArray
    descriptors: FloatArray


@dataclass(frozen=True)
class Candidate:
    """A proposed homography, observed pixel to picture pixel, and how many features back it."""

    homography: FloatArray
    support: float
    error_px: float


def find_features(luminance: FloatArray, *, most_pixels: float, per_octave: int) -> Features:
    """Key points of every octave, the strongest of each spread over the image.

    The dots of a print fill the fine octaves; a quota for each octave leaves room for the picture.

    Parameters
    ----------
    luminance : (h, w) array
        Linear.
    most_pixels : float
        The image is reduced by whole blocks to about this many pixels first.
    per_octave : int
        Most key points kept of one octave.

    References
    ----------
    D. Lowe, IJCV 60 (2004) 91: the features. Square roots of descriptors compared: Arandjelovic
    and Zisserman, CVPR 2012 (from memory).
    """
    step = max(1, int(np.ceil(np.sqrt(luminance.size / most_pixels))))
    image = _tone_coded(block_mean(luminance, step))
    sift = cv2.SIFT_create(contrastThreshold=0.008, edgeThreshold=15)  # type: ignore[attr-defined]
    found = sift.detect(image, None)
    if not found:
        empty = np.zeros((0, 2))
        return Features(empty, empty[:, 0], empty[:, 0], np.zeros((0, 128), np.float32))
    octaves = np.array([(k.octave & 255) for k in found])
    places = np.array([k.pt for k in found])
    response = np.array([k.response for k in found])
    kept = [
        found[i]
        for octave in np.unique(octaves)
        for i in _spread(np.flatnonzero(octaves == octave), places, response, per_octave)
    ]
    kept_points, descriptors = sift.compute(image, kept)
    descriptors = np.sqrt(descriptors / np.maximum(descriptors.sum(axis=1, keepdims=True), 1e-9))
    points = np.array([k.pt for k in kept_points])
    return Features(
        points=map_points(block_to_full(step), points),
        sizes=np.array([k.size for k in kept_points]) * step,
        angles=np.deg2rad([k.angle for k in kept_points]),
        descriptors=descriptors.astype(np.float32),
    )


def _tone_coded(luminance: FloatArray) -> FloatArray:
    """Square root of luminance between its extremes, as 8 bits: even steps for the eye."""
    low, high = np.percentile(luminance[::4, ::4], [0.2, 99.8])
    span = max(float(high - low), 1e-6)
    return (255 * np.sqrt(np.clip((luminance - low) / span, 0.0, 1.0)) + 0.5).astype(np.uint8)


def _spread(
    members: NDArray[np.intp], places: FloatArray, response: FloatArray, most: int
) -> NDArray[np.intp]:
    """The strongest members, no cell of a 12 x 12 grid taking more than three times its share."""
    if len(members) <= most:
        return members
    ranked = members[np.argsort(-response[members], kind="stable")]
    low, high = places.min(axis=0), places.max(axis=0) + 1e-6
    cells = np.floor(12 * (places[ranked] - low) / (high - low)).astype(int) @ [12, 1]
    order = np.argsort(cells, kind="stable")
    sorted_cells = cells[order]
    first = np.searchsorted(sorted_cells, sorted_cells)
    rank = np.empty(len(cells), dtype=int)
    rank[order] = np.arange(len(cells)) - first
    return ranked[rank < 3 * max(1, most // 144)][:most]


def _match_features(observed: Features, picture: Features) -> FloatArray:
    """Pairs (observed, picture) of nearest descriptors, the most distinctive first.

    A pair counts as distinctive where the next best place in the picture is much worse.
    """
    pairs, ratios = [], []
    for start in range(0, len(observed.points), 1024):
        likeness = observed.descriptors[start : start + 1024] @ picture.descriptors.T
        count = min(4, likeness.shape[1])
        near = np.argpartition(-likeness, count - 1, axis=1)[:, :count]
        near = np.take_along_axis(
            near, np.argsort(-np.take_along_axis(likeness, near, 1), axis=1), 1
        )
        distance = np.sqrt(np.maximum(2 - 2 * np.take_along_axis(likeness, near, 1), 1e-9))
        away = np.linalg.norm(picture.points[near] - picture.points[near[:, :1]], axis=2)
        elsewhere = away > picture.sizes[near[:, 0], None]
        second = np.where(elsewhere, distance, np.inf).min(axis=1)
        second = np.where(np.isfinite(second), second, distance[:, -1])
        pairs.append(np.stack([np.arange(start, start + len(near)), near[:, 0]], axis=1))
        ratios.append(distance[:, 0] / second)
    order = np.argsort(np.concatenate(ratios), kind="stable")[:MOST_PAIRS]
    kept = order[np.concatenate(ratios)[order] < 0.95]
    return np.asarray(np.concatenate(pairs)[kept])


def propose_by_features(
    observed: Features,
    picture: Features,
    scale_range: tuple[float, float],
) -> list[Candidate]:
    """Homographies backed by features that agree in place, size and angle.

    Every pair is itself a guess of scale, turn and place; each guess is scored by the other
    pairs that fall where it says, and the best are made homographies by a robust fit.

    Parameters
    ----------
    scale_range : tuple of float
        Observed pixels per picture pixel, smallest and largest.
    """
    if min(len(observed.points), len(picture.points)) < FEWEST_AGREEING:
        return []
    pairs = _match_features(observed, picture)
    scale = observed.sizes[pairs[:, 0]] / picture.sizes[pairs[:, 1]]
    pairs = pairs[(scale > scale_range[0]) & (scale < scale_range[1])]
    if len(pairs) < FEWEST_AGREEING:
        return []
    seen, sought = observed.points[pairs[:, 0]], picture.points[pairs[:, 1]]
    agree = _agreement(observed, picture, pairs)
    candidates: list[Candidate] = []
    free = np.ones(len(pairs), dtype=bool)
    for _ in range(PROPOSALS):
        votes = (agree & free).sum(axis=1) * free
        best = int(np.argmax(votes))
        if votes[best] < FEWEST_AGREEING:
            break
        group = agree[best] & free
        free &= ~group
        candidate = _fit_group(seen, sought, group, float(np.median(picture.sizes[pairs[:, 1]])))
        if candidate is not None:
            candidates.append(candidate)
    return sorted(candidates, key=lambda c: -c.support)


def _agreement(observed: Features, picture: Features, pairs: FloatArray) -> FloatArray:
    """Whether pair j falls where the guess of pair i puts it, (n, n) of bool."""
    seen = observed.points[pairs[:, 0]].astype(np.float32)
    sought = picture.points[pairs[:, 1]].astype(np.float32)
    size = picture.sizes[pairs[:, 1]].astype(np.float32)
    log_scale = np.log2(size / observed.sizes[pairs[:, 0]]).astype(np.float32)
    turn = (picture.angles[pairs[:, 1]] - observed.angles[pairs[:, 0]]).astype(np.float32)
    factor = np.exp2(log_scale)
    a, b = (factor * np.cos(turn))[:, None], (factor * np.sin(turn))[:, None]
    dx = seen[None, :, 0] - seen[:, None, 0]
    dy = seen[None, :, 1] - seen[:, None, 1]
    off_x = sought[:, None, 0] + a * dx - b * dy - sought[None, :, 0]
    off_y = sought[:, None, 1] + b * dx + a * dy - sought[None, :, 1]
    reach = np.hypot(dx, dy) * factor[:, None]
    allowed = 0.2 * reach + size[:, None] + 2
    close = off_x**2 + off_y**2 < allowed**2
    close &= np.abs(log_scale[None, :] - log_scale[:, None]) < 0.7
    close &= np.cos(turn[None, :] - turn[:, None]) > np.cos(np.deg2rad(35))
    return close


def _fit_group(
    seen: FloatArray, sought: FloatArray, group: FloatArray, size: float
) -> Candidate | None:
    """Homography through a group, then through all pairs that it explains."""
    cv2.setRNGSeed(1)
    tolerance = max(3.0, 0.5 * size)
    if np.count_nonzero(group) >= 10:
        matrix, inside = cv2.findHomography(
            seen[group], sought[group], cv2.RANSAC, tolerance, maxIters=3000, confidence=0.999
        )
    else:
        partial, inside = cv2.estimateAffinePartial2D(
            seen[group], sought[group], method=cv2.RANSAC, ransacReprojThreshold=tolerance
        )
        matrix = None if partial is None else np.vstack([partial, [0.0, 0.0, 1.0]])
    if matrix is None or np.count_nonzero(inside) < FEWEST_AGREEING:
        return None
    off = np.linalg.norm(map_points(matrix, seen) - sought, axis=1)
    inliers = off < tolerance
    if np.count_nonzero(inliers) >= 12:
        refit, _ = cv2.findHomography(seen[inliers], sought[inliers], cv2.RANSAC, tolerance)
        matrix = matrix if refit is None else refit
    support = len(np.unique(np.round(sought[inliers] / tolerance), axis=0))
    return Candidate(np.asarray(matrix), float(support), 2 * tolerance)
