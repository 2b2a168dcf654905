"""How far each ink plane lies from black, from coloured lines drawn among black ones."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from dotloupe.arrays import FloatArray, Interval
from dotloupe.errors import RegionError
from dotloupe.measure.lines.printed import PrintedLine, printed_line
from dotloupe.measure.lines.profile import Runs
from dotloupe.measure.uncertainty import Uncertainty, added

DARKEST = 0.005
"""Least reflectance of which a density is taken: below it a photograph shows noise alone."""


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
    uncertainty : Uncertainty
        What the interval was made of.
    channel : int
        Colour channel in which its lines and the black ones were measured.
    lines : int
        Number of lines of the plane.
    """

    plane: str
    offset_um: float
    interval: Interval
    uncertainty: Uncertainty
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
    Both are taken in density, to which every drop adds about alike wherever in the line it
    lies; in reflectance the borders alone would count. A coloured line lies at the centre of its
    density, a black one midway between its borders at half density, since its skirts are often
    greys built of the very colours that are to be compared with it.
    All lines lean by one angle, that of the picture. With two black lines or more, place and
    scale are taken from them; with one, its place alone.

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
    own = {plane: [w for w in windows if w.plane == plane] for plane in planes}
    channel = {p: _strongest(channels, pixels_per_mm, own[p], runs) for p in planes}

    def find(window: LineWindow, channel: int) -> _Found:
        middle = window.plane == reference
        return _find(channels[channel], pixels_per_mm, window, runs, middle=middle)

    coloured = {p: [find(w, channel[p]) for w in own[p]] for p in planes}
    blacks = {c: [find(w, c) for w in black] for c in sorted(set(channel.values()))}
    every = [f for found in (*coloured.values(), *blacks.values()) for f in found]
    lean = float(np.mean([f.lean for f in every]))
    level = float(np.mean([f.along_mm for f in every]))
    rulers = {c: _ruler(_upright(found, lean, level), black) for c, found in blacks.items()}
    offsets = []
    for plane in planes:
        places = _upright(coloured[plane], lean, level)
        offset, error = _offset(places, own[plane], rulers[channel[plane]])
        interval = (offset - error.half_width, offset + error.half_width)
        offsets.append(PlaneOffset(plane, offset, interval, error, channel[plane], len(own[plane])))
    return tuple(offsets)


@dataclass(frozen=True)
class _Found:
    """A line in its picture: place across with its uncertainty, level and lean."""

    across_mm: float
    error: Uncertainty
    along_mm: float
    lean: float


_Place: TypeAlias = tuple[float, Uncertainty]
"""Across the lines in mm, and how well it is known."""


@dataclass(frozen=True)
class _Ruler:
    """Black lines as a ruler: place = shift + scale * drawn, with the covariance of both."""

    shift: float
    scale: float
    covariance: FloatArray
    degrees: float


def _channels(picture: FloatArray) -> list[FloatArray]:
    picture = np.asarray(picture)
    if picture.ndim == 2:
        return [picture]
    if picture.ndim == 3:
        return list(np.moveaxis(picture, -1, 0))
    raise RegionError(f"plane offsets: a picture has 2 or 3 dimensions, not {picture.ndim}.")


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
    *,
    middle: bool,
) -> _Found:
    """Find a line by its density: midway between its borders, or at the centre of all of it."""
    rows, columns = _cut(channel, pixels_per_mm, window)
    light = np.maximum(channel[rows, columns], DARKEST)
    line: PrintedLine = printed_line(1 + np.log10(light), pixels_per_mm, runs=runs)
    across, along = (columns, rows) if runs == "vertical" else (rows, columns)
    place_mm = line.middle_mm if middle else line.position_mm
    return _Found(
        across_mm=across.start / pixels_per_mm + place_mm,
        error=line.middle_uncertainty if middle else line.position_uncertainty,
        along_mm=(along.start + along.stop) / 2 / pixels_per_mm,
        lean=float(np.tan(np.radians(line.tilt_deg))),
    )


def _upright(found: list[_Found], lean: float, level_mm: float) -> list[_Place]:
    """Place of lines, all at one level of a picture that leans, and its uncertainty."""
    return [(f.across_mm + lean * (level_mm - f.along_mm), f.error) for f in found]


def _ruler(found: list[_Place], windows: list[LineWindow]) -> _Ruler:
    place = np.array([at for at, _ in found])
    error = np.array([e.standard_error for _, e in found])
    degrees = added(e for _, e in found).degrees
    drawn = np.array([w.drawn_mm for w in windows])
    if len(place) == 1 or np.ptp(drawn) == 0:
        spread = float(np.mean(error**2)) / len(place)
        return _Ruler(float(np.mean(place - drawn)), 1.0, np.diag([spread, 0.0]), degrees)
    basis = np.stack([np.ones_like(drawn), drawn], axis=1) / error[:, None]
    covariance = np.linalg.inv(basis.T @ basis)
    shift, scale = covariance @ basis.T @ (place / error)
    if len(place) > 2:
        rest = (place - shift - scale * drawn) / error
        covariance = covariance * max(float(rest @ rest) / (len(place) - 2), 1.0)
    return _Ruler(float(shift), float(scale), covariance, degrees)


def _offset(
    found: list[_Place], windows: list[LineWindow], ruler: _Ruler
) -> tuple[float, Uncertainty]:
    """Mean offset in um of the lines of a plane from the ruler, and its uncertainty."""
    place = np.array([at for at, _ in found])
    drawn = np.array([w.drawn_mm for w in windows])
    apart = place - ruler.shift - ruler.scale * drawn
    offset = float(np.mean(apart))
    at = np.array([1.0, float(np.mean(drawn))])
    of_ruler = Uncertainty(float(np.sqrt(at @ ruler.covariance @ at)), ruler.degrees)
    error = added((of_ruler, *(e.scaled(1 / len(found)) for _, e in found)))
    return 1000 * offset, error.scaled(1000)
