"""The least error that any unbiased search can have of a simulated photograph's place."""

import cv2
import numpy as np
from scipy.ndimage import spline_filter1d

MARGIN_PX = 8
LEAST_VARIANCE = 1e-3
"""Of a dot's ink or paper, where the tone leaves hardly any chance: keeps weights finite."""


def least_error_px(light, homography, shape, noise_density):
    """Cramer-Rao bound on the place of a frame, in picture pixels rms over a grid of 7 x 7.

    `light` (h, w, c) is the picture as its print is to show it, `homography` maps frame pixel to
    picture pixel, and `noise_density` (rows, columns, c) is the variance of the frame's noise
    times the area over which it hangs together, in frame pixels. The eight numbers of a
    homography are unknown; noise is taken to be independent beyond a dot, and tones known: the
    bound of a real search lies higher. H. Cramer (1946) and C. R. Rao (1945), from memory.
    """
    rows, columns = shape
    light, homography = _around_the_frame(light, homography, shape)
    slopes = [_slope(light, homography, shape, axis) for axis in (1, 0)]
    v, u = np.mgrid[-1 : 1 : rows * 1j, -1 : 1 : columns * 1j]
    information = np.zeros((8, 8))
    for channel in range(light.shape[2]):
        x, y = (slope[..., channel] for slope in slopes)
        rises = np.stack(
            [x, x * u, x * v, y, y * u, y * v, (x * u + y * v) * u, (x * u + y * v) * v]
        )
        weights = 1 / noise_density[..., channel]
        information += np.einsum("irc,jrc,rc->ij", rises, rises, weights, optimize=True)
    covariance = np.linalg.inv(information)
    v, u = (g.ravel() for g in np.mgrid[-1:1:7j, -1:1:7j])
    one, none = np.ones_like(u), np.zeros_like(u)
    along_x = np.stack([one, u, v, none, none, none, u * u, u * v])
    along_y = np.stack([none, none, none, one, u, v, u * v, v * v])
    squares = [np.einsum("ik,ij,jk->k", a, covariance, a) for a in (along_x, along_y)]
    return float(np.sqrt(np.mean(squares[0] + squares[1])))


def _around_the_frame(light, homography, shape):
    """What the frame shows of the picture, with a margin, and the homography to it."""
    rows, columns = shape
    frame = np.array([[[0, 0]], [[columns, 0]], [[columns, rows]], [[0, rows]]], float)
    corners = cv2.perspectiveTransform(frame, homography)[:, 0]
    left, top = np.maximum(np.floor(corners.min(axis=0)).astype(int) - MARGIN_PX, 0)
    right, bottom = np.ceil(corners.max(axis=0)).astype(int) + MARGIN_PX
    moved = np.array([[1, 0, -left], [0, 1, -top], [0, 0, 1]])
    return light[top:bottom, left:right], moved @ homography


def _slope(light, homography, shape, axis):
    """Slope of the picture's light along its rows (1) or columns (0), in the frame's pixels."""
    spline = np.moveaxis(spline_filter1d(light, 3, axis, output=np.float32), axis, 0)
    slope = np.zeros_like(spline)
    slope[1:-1] = (spline[2:] - spline[:-2]) / 2
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    slope = np.ascontiguousarray(np.moveaxis(slope, 0, axis))
    return cv2.warpPerspective(slope, homography, shape[::-1], flags=flags)
