"""From coded pixel values to linear light, by the file's own colour profile."""

from __future__ import annotations

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.capture.file_cautions import NoProfile, UnusableProfile
from dotloupe.cautions import Caution
from dotloupe.patch import srgb_decode

SRGB_PRIMARIES = (0.64, 0.33, 1.0, 0.30, 0.60, 1.0, 0.15, 0.06, 1.0)
D65 = (0.3127, 0.3290, 1.0)


def tone_curve(
    profile: bytes | None, levels: int, *, declared_srgb: bool = False
) -> tuple[FloatArray, tuple[Caution, ...]]:
    """Linear light of every pixel value, and what to tell of how it was found.

    Parameters
    ----------
    profile : bytes or None
        ICC profile of the file. Its tone curve along the neutrals is taken; its primaries are
        not, since the channels are only compared with the same channel of the paper.
    levels : int
        256 or 65536.
    declared_srgb : bool
        The file has no profile but says in another way that it is sRGB.

    Returns
    -------
    curve : ndarray of shape (levels,), float32
        From 0 to 1.
    warnings : tuple of Caution
    """
    coded = np.arange(levels) / (levels - 1)
    if profile is None:
        return srgb_decode(coded).astype(np.float32), () if declared_srgb else (NoProfile(),)
    try:
        return _profile_curve(profile, coded), ()
    except Exception:  # noqa: BLE001  the colour library raises many kinds on odd profiles
        return srgb_decode(coded).astype(np.float32), (UnusableProfile(),)


def _profile_curve(profile: bytes, coded: FloatArray) -> FloatArray:
    import imagecodecs

    linear_rgb = imagecodecs.cms_profile("rgb", whitepoint=D65, primaries=SRGB_PRIMARIES, gamma=1.0)
    channels = 1 if profile[16:20] == b"GRAY" else 3
    space = "gray" if channels == 1 else "rgb"
    ramp = coded.astype(np.float32)[None, :, None].repeat(channels, axis=2)
    light = imagecodecs.cms_transform(
        ramp if channels == 3 else ramp[..., 0],
        profile,
        linear_rgb,
        colorspace=space,
        outcolorspace="rgb",
        outdtype="float32",
        intent=1,
    )
    curve = np.asarray(light)[0, :, 1].astype(np.float32)
    return curve / curve[-1]
