"""The sRGB transfer function (IEC 61966-2-1) and a colour profile that names it."""

from __future__ import annotations

import numpy as np

from dotloupe.arrays import FloatArray

ICC_DATE, ICC_PROFILE_ID = slice(24, 36), slice(84, 100)
"""Bytes of a profile's header that hold its date and its checksum (ICC.1, clause 7.2)."""
ICC_FIXED_DATE = bytes.fromhex("07d000010001000000000000")


def srgb_encode(linear: FloatArray) -> FloatArray:
    """Code linear values from 0 to 1 as sRGB values from 0 to 1, of the same type."""
    high = 1.055 * np.maximum(linear, 0.0) ** (1.0 / 2.4) - 0.055
    return np.where(linear <= 0.0031308, 12.92 * linear, high).astype(linear.dtype)


def srgb_decode(coded: FloatArray) -> FloatArray:
    """Linear values from 0 to 1 of sRGB values from 0 to 1, of the same type."""
    high = ((np.maximum(coded, 0.0) + 0.055) / 1.055) ** 2.4
    return np.where(coded <= 0.04045, coded / 12.92, high).astype(coded.dtype)


def srgb_profile() -> bytes:
    """An sRGB colour profile, the same bytes at every call."""
    from PIL import ImageCms

    profile = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    profile[ICC_DATE] = ICC_FIXED_DATE
    profile[ICC_PROFILE_ID] = bytes(16)
    return bytes(profile)
