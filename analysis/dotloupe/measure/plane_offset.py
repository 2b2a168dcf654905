"""How far each ink plane lies from black, from coloured lines drawn among black ones."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from dotloupe.arrays import FloatArray, Interval
from dotloupe.errors import RegionError
from dotloupe.measure.line_profile import Runs
from dotloupe.measure.lines import PrintedLine, printed_line

NORMAL_95 = 1.959964


@dataclass(frozen=True)
class LineWindow:
    """A rectangle of the picture that holds one line, and where that line was drawn.

    Attributes
    ----------
    plane : str
        Ink plane of the line.
    left_mm, top_mm, width_mm, height_mm : float
        The rectangle, from the top left corner of the picture.
    drawn_mm : float
        Where the line's centre was drawn, across its run, from any origin that all windows share.
    """

    plane: str
    left_mm: float
    top_mm: float
    width_mm: float
    height_mm: float
    drawn_mm: float


@dataclass(frozen=True)
class PlaneOffset:
    """Offset of one ink plane against black, in one direction.

    Attributes
    ----------
    plane : str
    offset_um, interval : float, (float, float)
        Positive where the plane lies farther along the axis across the lines than black does.
    channel : int
        Colour channel in which its lines and the black ones were measured.
    lines : int
        Number of lines of the plane.
    """

    plane: str
    offset_um: float
    interval: Interval
    channel: int
    lines: int


def plane_offsets(
    picture: FloatArray,
    pixels_per_mm: float,
    windows: Sequence[LineWindow],
    *,
    runs: Runs = "vertical",
    reference: str = "black",
) -> tuple[PlaneOffset, ...]:
    """Measure how far the lines of every plane lie from where black says they should.

    Black and coloured lines are compared within one colour channel, the one in which the
    coloured line is strongest, so that a lens which places the channels apart does no harm.
    A coloured line lies at the centre of its darkness, a black one at its core, since its soft
    borders are often built of the very colours that are to be compared with it.
    With two black lines or more, place and scale are taken from them; with one, its place alone.

    Parameters
    ----------
    picture : ndarray of shape (h, w, channels) or (h, w)
        Linear reflectance of all lines of one direction.
    pixels_per_mm : float
        Sampling of the picture.
    windows : sequence of LineWindow
        One for each line.
    runs : {"vertical", "horizontal"}
        The direction in which the lines run.
    reference : str
        The plane to which the others are compared.

    Returns
    -------
    tuple of PlaneOffset
        One for each plane but the reference, in order of first appearance.

    Raises
    ------
    RegionError
        No line of the reference or of another plane, a window beyond the picture, or a window
        that does not hold one line.
    """
    channels = _channels(picture)
    planes = list(dict.fromkeys(w.plane for w in windows if w.plane != reference))
    black = [w for w in windows if w.plane == reference]
    if not black or not planes:
        raise RegionError(
            f"plane offsets: at least one {reference} line and one of another plane are needed."
        )
    level = float(np.mean([_along(w, runs) for w in windows]))
    rulers: dict[int, _Ruler] = {}
    offsets = []
    for plane in planes:
        own = [w for w in windows if w.plane == plane]
        channel = _strongest(channels, pixels_per_mm, own, runs)
        if channel not in rulers:
            found = [
                _find(channels[channel], pixels_per_mm, w, runs, level, core=True) for w in black
            ]
            rulers[channel] = _ruler(found, np.array([w.drawn_mm for w in black]))
        found = [_find(channels[channel], pixels_per_mm, w, runs, level) for w in own]
        drawn = np.array([w.drawn_mm for w in own])
        offset, error = _offset(found, drawn, rulers[channel])
        interval = (offset - NORMAL_95 * error, offset + NORMAL_95 * error)
        offsets.append(PlaneOffset(plane, offset, interval, channel, len(own)))
    return tuple(offsets)


@dataclass(frozen=True)
class _Ruler:
    """Black lines as a ruler: place = shift + scale * drawn, with the covariance of both."""

    shift: float
    scale: float
    covariance: FloatArray


def _channels(picture: FloatArray) -> list[FloatArray]:
    picture = np.asarray(picture)
    if picture.ndim == 2:
        return [picture]
    if picture.ndim == 3:
        return list(np.moveaxis(picture, -1, 0))
    raise RegionError(f"plane offsets: a picture has 2 or 3 dimensions, not {picture.ndim}.")


def _along(window: LineWindow, runs: Runs) -> float:
    """Middle of a window along its line, in mm."""
    if runs == "vertical":
        return window.top_mm + window.height_mm / 2
    return window.left_mm + window.width_mm / 2


def _cut(channel: FloatArray, pixels_per_mm: float, window: LineWindow) -> tuple[slice, slice]:
    left, top = round(window.left_mm * pixels_per_mm), round(window.top_mm * pixels_per_mm)
    right = round((window.left_mm + window.width_mm) * pixels_per_mm)
    bottom = round((window.top_mm + window.height_mm) * pixels_per_mm)
    height, width = channel.shape
    if left < 0 or top < 0 or right > width or bottom > height:
        raise RegionError(
            f"plane offsets: the window of a {window.plane} line reaches beyond the picture."
        )
    return slice(top, bottom), slice(left, right)


def _strongest(
    channels: list[FloatArray], pixels_per_mm: float, windows: list[LineWindow], runs: Runs
) -> int:
    """Channel in which the lines differ most from their ground."""
    axis = 0 if runs == "vertical" else 1
    swing = [
        sum(np.ptp(c[_cut(c, pixels_per_mm, w)].mean(axis=axis)) for w in windows) for c in channels
    ]
    return int(np.argmax(swing))


def _find(
    channel: FloatArray,
    pixels_per_mm: float,
    window: LineWindow,
    runs: Runs,
    level_mm: float,
    *,
    core: bool = False,
) -> tuple[float, float]:
    """Place across the picture in mm, where all lines are compared, and its standard error."""
    rows, columns = _cut(channel, pixels_per_mm, window)
    line: PrintedLine = printed_line(channel[rows, columns], pixels_per_mm, runs=runs)
    across, along = (columns, rows) if runs == "vertical" else (rows, columns)
    middle_mm = (along.start + along.stop) / 2 / pixels_per_mm
    lean = np.tan(np.radians(line.tilt_deg)) * (level_mm - middle_mm)
    low, high = line.core_interval if core else line.position_interval
    place = across.start / pixels_per_mm + (low + high) / 2 + lean
    return place, (high - low) / 2 / NORMAL_95


def _ruler(found: list[tuple[float, float]], drawn: FloatArray) -> _Ruler:
    place, error = np.array(found).T
    if len(place) == 1 or np.ptp(drawn) == 0:
        spread = float(np.mean(error**2)) / len(place)
        return _Ruler(float(np.mean(place - drawn)), 1.0, np.diag([spread, 0.0]))
    basis = np.stack([np.ones_like(drawn), drawn], axis=1) / error[:, None]
    covariance = np.linalg.inv(basis.T @ basis)
    shift, scale = covariance @ basis.T @ (place / error)
    if len(place) > 2:
        rest = (place - shift - scale * drawn) / error
        covariance = covariance * max(float(rest @ rest) / (len(place) - 2), 1.0)
    return _Ruler(float(shift), float(scale), covariance)


def _offset(
    found: list[tuple[float, float]], drawn: FloatArray, ruler: _Ruler
) -> tuple[float, float]:
    """Mean offset in um of the lines of a plane from the ruler, and its standard error."""
    place, error = np.array(found).T
    apart = place - ruler.shift - ruler.scale * drawn
    weight = error**-2.0 / np.sum(error**-2.0)
    offset = float(weight @ apart)
    at = np.array([1.0, float(weight @ drawn)])
    variance = float(at @ ruler.covariance @ at) + 1 / float(np.sum(error**-2.0))
    return 1000 * offset, 1000 * float(np.sqrt(variance))
