"""What to send for a picture of a given resolution, and what it costs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from dotloupe.errors import InputError
from dotloupe.storage import plain

if TYPE_CHECKING:
    from collections.abc import Mapping

    from dotloupe.arrays import FloatArray, Interval
    from dotloupe.compare.ladder.all_criteria import Ladder
    from dotloupe.compare.ladder.criterion_ladder import CriterionLadder

DETAIL = ("detail_x", "detail_y")
Action = Literal["send as it is", "resize"]


@dataclass(frozen=True)
class Recommendation:
    """What to send for one picture.

    Attributes
    ----------
    picture_ppi : float
        Pixels of the picture per inch of the print.
    action : str
        "send as it is" or "resize".
    send_ppi : float
        What to send.
    detail_percent : float
        Detail of what is sent against the picture sent as it is, in per cent, in the direction
        that loses more.
    detail_interval : tuple of float
        Its 95 % interval.
    short_of_plateau_percent : float or None
        How far below its plateau the criterion lies that falls shortest at what is sent.
    pixels_ratio : float
        Pixels sent over those of the picture as it is; the size of an uncompressed file goes by it.
    megapixels : tuple of float or None
        As it is and as sent, where the size of the print is given.
    seconds : tuple of float or None
        Time of a print as it is and as sent, from the times noted.
    enough_ppi : float or None
        What is enough for every criterion that rises; None where the ladder does not reach it.
    share : float
        Share of the plateau that counts as enough.
    """

    picture_ppi: float
    action: Action
    send_ppi: float
    detail_percent: float
    detail_interval: Interval
    short_of_plateau_percent: float | None
    pixels_ratio: float
    megapixels: tuple[float, float] | None
    seconds: tuple[float, float] | None
    enough_ppi: float | None
    share: float

    def to_dict(self) -> dict[str, object]:
        """Everything, ready for JSON."""
        return dict(plain(self))


def recommend(
    ladder: Ladder,
    picture_ppi: float,
    *,
    print_mm: tuple[float, float] | None = None,
    seconds: Mapping[float, float] | None = None,
) -> Recommendation:
    """Say what to send for a picture whose own resolution at the print's size is known.

    The ladder tells what the printer makes of a file that holds all the detail its pixels can. A
    picture of fewer pixels than are enough gains no detail by being enlarged; one of more may be
    reduced to what is enough for every criterion.

    Parameters
    ----------
    ladder : Ladder
    picture_ppi : float
        Pixels of the picture per inch of the print.
    print_mm : pair of float, optional
        Width and height of the print, for the pixels of the file.
    seconds : mapping of float to float, optional
        Sent ppi to the time that a print took, noted by the person at the printer.

    Raises
    ------
    InputError
        An impossible ppi or size.
    """
    if not (np.isfinite(picture_ppi) and picture_ppi > 0):
        raise InputError(f"picture of {picture_ppi} ppi: give its pixels per inch of the print")
    if print_mm is not None and not min(print_mm) > 0:
        raise InputError("size of the print: give its width and height in mm, above 0")
    rising = [c for c in ladder.criteria.values() if c.rise]
    enough = ladder.enough_for_all_ppi
    send = picture_ppi if enough is None else min(picture_ppi, enough)
    detail, interval = _worst_gain([c for c in rising if c.name in DETAIL], send, picture_ppi)
    ratio = (send / picture_ppi) ** 2
    area = None if print_mm is None else print_mm[0] * print_mm[1] / 25.4**2 / 1e6
    return Recommendation(
        picture_ppi=picture_ppi,
        action="resize" if send < picture_ppi else "send as it is",
        send_ppi=send,
        detail_percent=detail,
        detail_interval=interval,
        short_of_plateau_percent=None if enough is None else _shortfall(rising, send),
        pixels_ratio=ratio,
        megapixels=None if area is None else (area * picture_ppi**2, area * send**2),
        seconds=_times(seconds, picture_ppi, send),
        enough_ppi=enough,
        share=ladder.share,
    )


def _worst_gain(criteria: list[CriterionLadder], send: float, own: float) -> tuple[float, Interval]:
    """Detail at `send` against that at `own`, in per cent, in the direction that loses more."""
    gains = [c.saturation.gain(send, own) for c in criteria if c.saturation and send != own]
    if not gains:
        return 0.0, (0.0, 0.0)
    value, (low, high) = min(gains)
    return 100 * (value - 1), (100 * (low - 1), 100 * (high - 1))


def _shortfall(criteria: list[CriterionLadder], send: float) -> float:
    reached = [
        c.saturation.at(send)[0] / c.rise.plateau for c in criteria if c.saturation and c.rise
    ]
    return 100 * max(0.0, 1 - min(reached))


def _times(
    seconds: Mapping[float, float] | None, own: float, send: float
) -> tuple[float, float] | None:
    """Times at both ppi, straight between the times noted by the pixels sent; None beyond them."""
    if not seconds:
        return None
    noted: FloatArray = np.array(sorted((float(p) ** 2, s) for p, s in seconds.items()))
    wanted = np.array([own**2, send**2])
    if wanted.min() < noted[0, 0] or wanted.max() > noted[-1, 0]:
        return None
    as_is, sent = np.interp(wanted, noted[:, 0], noted[:, 1])
    return float(as_is), float(sent)
