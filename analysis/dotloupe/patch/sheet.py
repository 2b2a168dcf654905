"""Files for the printer."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from dotloupe.errors import InputError
from dotloupe.patch.srgb import srgb_profile


def save_sheet(drawing: NDArray[np.uint8], ppi: float, path: Path) -> Path:
    """Write a drawing as an 8-bit TIFF with its resolution and an sRGB profile.

    Parameters
    ----------
    drawing : ndarray of shape (rows, columns, 3)
        sRGB-coded.
    ppi : float
        Pixels per inch that the file states.
    path : Path
        Where to write; its folder must exist.

    Raises
    ------
    InputError
        Where the file cannot be written.
    """
    import tifffile

    if not path.parent.is_dir():
        raise InputError(f"{path}: there is no folder {path.parent}; make it first")
    try:
        tifffile.imwrite(
            path,
            drawing,
            photometric="rgb",
            resolution=(ppi, ppi),
            resolutionunit="INCH",
            compression="zlib",
            predictor=True,
            iccprofile=srgb_profile(),
            metadata=None,
            software="dotloupe",
        )
    except OSError as error:
        raise InputError(
            f"{path}: cannot be written ({error.strerror}); choose another place"
        ) from error
    return path
