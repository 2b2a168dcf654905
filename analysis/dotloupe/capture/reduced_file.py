"""A photograph reduced to what is measured: its pixels about the patch, and nothing of its owner.

A TIFF whose description holds, as JSON, what a capture is beside its pixels. Pixels that are kept
are those decoded; all others are one level of paper. Of EXIF the fields of `KEPT_SETTINGS` stay:
no name, place, time or serial number.
"""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

import numpy as np

from dotloupe.capture.capture import Capture
from dotloupe.capture.damaged_file import damaged, refused_where_it_fails
from dotloupe.capture.exif import CameraSettings
from dotloupe.capture.file_cautions import (
    BilinearColours,
    CameraToneCurve,
    CompressedWithLoss,
    NoProfile,
    Simulated,
    ToneByExposures,
    UnusableProfile,
)
from dotloupe.capture.size_limit import check_size

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from tifffile import TiffPage

    from dotloupe.arrays import BoolArray
    from dotloupe.cautions import Caution

REDUCED_MARK = b"dotloupe.reduced"
"""In the description, near the start of the file."""
LEVELS_TAG = 65100
"""Linear light of each pixel value, float32: a private tag (TIFF 6.0, section 8)."""
KEPT_SETTINGS = (
    "maker",
    "model",
    "lens",
    "exposure_s",
    "f_number",
    "iso",
    "focal_length_mm",
    "distance_mm",
    "colour_space",
    "pixels_per_mm",
)
_CAUTIONS = {
    kind.__name__: kind
    for kind in (
        BilinearColours,
        CameraToneCurve,
        CompressedWithLoss,
        NoProfile,
        Simulated,
        ToneByExposures,
        UnusableProfile,
    )
}


def write_reduced(capture: Capture, path: Path, kept: Sequence[tuple[slice, slice]]) -> None:
    """Write a capture with the pixels of some parts alone.

    Parameters
    ----------
    capture : Capture
    path : Path
        TIFF, losslessly compressed.
    kept : sequence of (slice, slice)
        Rows and columns of each part.

    Raises
    ------
    OSError
        It cannot be written.
    """
    import tifffile

    inside: BoolArray = np.zeros(capture.shape, dtype=bool)
    for rows, columns in kept:
        inside[rows, columns] = True
    pixels = np.where(inside[..., None], capture.pixels, _paper(capture))
    told = {
        "kind": REDUCED_MARK.decode(),
        "paper_level": capture.paper_level.tolist(),
        "settings": {name: getattr(capture.settings, name) for name in KEPT_SETTINGS},
        "jpeg_steps": list(capture.jpeg_steps),
        "from_raw": capture.from_raw,
        "warnings": [_stored(w) for w in capture.warnings if type(w).__name__ in _CAUTIONS],
    }
    levels = capture.linear.astype(np.float32)
    tifffile.imwrite(
        path,
        pixels.astype(capture.pixels.dtype),
        photometric="rgb",
        compression="adobe_deflate",
        predictor=True,
        metadata=None,
        software=False,
        description=json.dumps(told, allow_nan=False),
        extratags=[(LEVELS_TAG, "f", len(levels), levels, True)],
    )


def read_reduced(path: Path, sha256: str) -> Capture:
    """Read what `write_reduced` wrote.

    Raises
    ------
    InputError
        It is damaged, or of a size that is not read.
    """
    import tifffile

    with refused_where_it_fails(damaged(path, "TIFF")), tifffile.TiffFile(path) as file:
        page = file.pages.first
        check_size(path, page.imagewidth, page.imagelength)
        return _capture(path, sha256, page)


def _capture(path: Path, sha256: str, page: TiffPage) -> Capture:
    told: dict[str, Any] = json.loads(page.description)
    pixels = page.asarray(maxworkers=1)
    levels = np.array(page.tags[LEVELS_TAG].value, dtype=np.float32)
    paper = np.array(told["paper_level"], dtype=float)
    whole = pixels.ndim == 3 and pixels.shape[2] == 3 and pixels.dtype in (np.uint8, np.uint16)
    if not whole or len(levels) != np.iinfo(pixels.dtype).max + 1:
        raise ValueError("pixels and levels do not belong together")
    if paper.shape != (3,) or not np.all(np.isfinite(levels)) or not np.all(paper > 0):
        raise ValueError("no light of paper")
    unknown = set(told["settings"]) - set(KEPT_SETTINGS)
    if unknown:
        raise ValueError("settings that are not known")
    return Capture(
        str(path),
        sha256,
        pixels,
        levels,
        paper,
        tuple(_caution(stored) for stored in told["warnings"]),
        CameraSettings(**told["settings"]),
        tuple(int(step) for step in told["jpeg_steps"]),
        None,
        from_raw=bool(told["from_raw"]),
    )


def _paper(capture: Capture) -> Any:
    """Pixel values of blank paper."""
    nearest = np.abs(capture.linear[:, None] - capture.paper_level[None]).argmin(axis=0)
    return nearest.astype(capture.pixels.dtype)


def _stored(caution: Caution) -> dict[str, object]:
    fields = asdict(caution)
    if isinstance(caution, ToneByExposures):
        fields["pair_name"] = "a pair"
    return {"kind": type(caution).__name__, **fields}


def _caution(stored: dict[str, Any]) -> Caution:
    fields = dict(stored)
    return _CAUTIONS[fields.pop("kind")](**fields)
