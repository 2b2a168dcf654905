"""The sRGB transfer function (IEC 61966-2-1) and a colour profile that names it."""

from __future__ import annotations

import numpy as np

from dotloupe.arrays import FloatArray

ICC_DATE = slice(24, 36)
"""Bytes of a profile's header that hold its date (ICC.1, clause 7.2)."""
ICC_FIXED_DATE = bytes.fromhex("07e800010001000000000000")


def srgb_encode(linear: FloatArray) -> FloatArray:
    """Code linear values from 0 to 1 as sRGB values from 0 to 1 (clipped)."""
    linear = np.clip(linear, 0.0, 1.0)
    return np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * np.power(linear, 1 / 2.4) - 0.055)


def srgb_decode(coded: FloatArray) -> FloatArray:
    """Linear values of sRGB values from 0 to 1."""
    return np.where(coded <= 0.04045, coded / 12.92, np.power((coded + 0.055) / 1.055, 2.4))


def srgb_profile() -> bytes:
    """An sRGB colour profile, the same bytes at every call."""
    from PIL import ImageCms

    profile = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    profile[ICC_DATE] = ICC_FIXED_DATE
    return bytes(profile)
