"""Write a simulated photograph as a camera or its converter would."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from dotloupe.errors import InputError
from dotloupe.patch.srgb import srgb_profile

if TYPE_CHECKING:
    from os import PathLike

    from dotloupe.simulate.photography import Photograph

_NOTE = "Simulated photograph of a simulated print"


def write_capture(path: str | PathLike[str], photograph: Photograph) -> Path:
    """Write a photograph sRGB-coded, with its profile: TIFF of 16 bits, PNG or JPEG of 8.

    JPEG keeps half the colour along x (4:2:2), as cameras do.

    Raises
    ------
    InputError
        For another file ending.
    """
    path = Path(path)
    ending = path.suffix.lower()
    if ending in {".tif", ".tiff"}:
        import tifffile

        tifffile.imwrite(
            path,
            photograph.coded(16),
            photometric="rgb",
            compression="zlib",
            predictor=True,
            iccprofile=srgb_profile(),
            description=_NOTE,
            software="dotloupe.simulate",
            metadata=None,
        )
    elif ending in {".png", ".jpg", ".jpeg"}:
        from PIL import Image

        picture = Image.fromarray(photograph.coded(8))
        exif = Image.Exif()
        exif[0x010E] = _NOTE
        exif[0x0131] = "dotloupe.simulate"
        quality = photograph.shot.jpeg_quality
        picture.save(path, icc_profile=srgb_profile(), exif=exif, quality=quality, subsampling=1)
    else:
        raise InputError(f"{path}: a capture ends in .tif, .png or .jpg: rename it")
    return path
