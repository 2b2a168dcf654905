"""Write a simulated photograph as a camera or its converter would."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

from dotloupe.errors import InputError
from dotloupe.patch import srgb_profile
from dotloupe.storage import whole, write_bytes

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
        For another file ending, or a place that cannot be written.
    """
    path = Path(path)
    ending = path.suffix.lower()
    if ending in {".tif", ".tiff"}:
        import tifffile

        with whole(path) as part:
            tifffile.imwrite(
                part,
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
        # written by Python: the encoder's own writing does not notice a disk that fills up
        kept = BytesIO()
        icc, kind = srgb_profile(), "png" if ending == ".png" else "jpeg"
        picture.save(kept, kind, icc_profile=icc, exif=exif, quality=quality, subsampling=1)
        write_bytes(path, kept.getvalue())
    else:
        raise InputError(f"{path}: a capture ends in .tif, .png or .jpg: rename it")
    return path
