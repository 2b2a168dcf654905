"""A version of a picture made elsewhere, placed on the picture that it was made of."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.errors import InputError
from dotloupe.registration.picture import locate_picture
from dotloupe.units import MM_PER_INCH

if TYPE_CHECKING:
    from dotloupe.capture import SentPicture

MOST_TURN_DEG = 0.1
SAME_SCALE = 2e-3
"""Relative: a whole version is taken to be as large as its master where it is so within this."""
EVEN = np.full(3, 1 / 3)


@dataclass(frozen=True)
class Version:
    """A version of a master and where it lies on it.

    Attributes
    ----------
    picture : SentPicture
        Its own pixels, with the ppi at which it prints as large as the master.
    corner_mm : (float, float)
        Its upper left corner in the master's print.
    """

    picture: SentPicture
    corner_mm: tuple[float, float]


def align_version(version: SentPicture, master: SentPicture) -> Version:
    """Find where a version lies on its master, by the content of both.

    Parameters
    ----------
    version : SentPicture
        Of any resolution, enlarged, sharpened or cropped, but not turned.
    master : SentPicture
        With its ppi.

    Raises
    ------
    InputError
        It is not found in the master, or lies turned on it.
    """
    if master.ppi is None:
        raise InputError(f"{master.path}: its printed size is unknown; give the width of its print")
    match = locate_picture(version.light(EVEN), master.light(EVEN))
    if not match:
        raise InputError(
            f"{version.path}: not recognised in {master.path}; give a version of that picture"
        )
    if abs(match.rotation_deg) > MOST_TURN_DEG:
        raise InputError(
            f"{version.path}: turned by {match.rotation_deg:.1f} degrees against {master.path}; "
            "save it upright"
        )
    per_master_px, whole = match.scale, version.shape[1] / master.shape[1]
    if abs(per_master_px / whole - 1) < SAME_SCALE:
        per_master_px = whole
    middle = (np.array(version.shape[::-1]) - 1) / 2
    on_master = match.homography @ np.array([*middle, 1])
    edge = on_master[:2] / on_master[2] + 0.5 - (middle + 0.5) / per_master_px
    x_mm, y_mm = (edge / master.ppi * MM_PER_INCH).tolist()
    return Version(replace(version, ppi=master.ppi * per_master_px), (x_mm, y_mm))
