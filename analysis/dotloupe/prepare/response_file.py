"""The printer's response read from what `measure --json` or `rank --json` wrote."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from dotloupe.errors import InputError
from dotloupe.evaluate import AXES
from dotloupe.measurement import CameraState, PrintResponse

DIFFERS, STANDARD_ERRORS = 0.15, 4.0
"""Photographs are of different settings where their responses differ by more than both."""


@dataclass(frozen=True)
class PrinterResponse:
    """Response of one setting, the camera taken out.

    Attributes
    ----------
    source : str
        The file that it was read from.
    sent_ppi : float
        At which the patch was sent.
    photographs : int
    axes : dict of axis to PrintResponse
        Mean over the photographs.
    """

    source: str
    sent_ppi: float
    photographs: int
    axes: dict[str, PrintResponse]


def load_response(path: Path, ppi: float, setting: str | None = None) -> PrinterResponse:
    """Read the response of a setting at the resolution that is to be sent.

    Parameters
    ----------
    path : Path
    ppi : float
        Resolution of the file to be sent.
    setting : str, optional
        Which setting, where the file holds several.

    Raises
    ------
    InputError
        Another kind of file, several settings, another ppi, the camera still in it, or photographs
        that disagree.
    """
    captures = [c for c in _captures(path, _content(path), setting) if c.get("response")]
    if not captures:
        raise InputError(
            f"{path}: no photograph of a patch with its printer's response; measure the patch "
            "again with this release"
        )
    if any(c.get("camera") != CameraState.TAKEN_OUT.value for c in captures):
        raise InputError(
            f"{path}: the camera's own softness is in it; photograph a reference edge in the same "
            "set-up and measure again with --camera"
        )
    sent = sorted({float(c["sent_ppi"]) for c in captures})
    captures = [c for c in captures if c["sent_ppi"] == ppi]
    if not captures:
        measured = ", ".join(f"{s:g}" for s in sent)
        raise InputError(
            f"{path}: measured at {measured} ppi, and the picture is to be sent at {ppi:g}; print "
            f"and measure a patch of {ppi:g} ppi, or send the picture at {measured}"
        )
    axes = {}
    for axis in AXES:
        found = [_response(path, c["response"][axis]) for c in captures if axis in c["response"]]
        if not found:
            raise InputError(
                f"{path}: the edges along {axis} gave no response; photograph another print"
            )
        axes[str(axis)] = _mean(path, found)
    return PrinterResponse(str(path), ppi, len(captures), axes)


def _content(path: Path) -> Any:
    try:
        return json.loads(path.read_text("utf-8"))
    except FileNotFoundError as error:
        raise InputError(f"{path}: there is no such file; check the name") from error
    except OSError as error:
        raise InputError(f"{path}: cannot be read ({error.strerror}); check it") from error
    except ValueError as error:
        raise _other_kind(path) from error


def _captures(path: Path, content: Any, setting: str | None) -> list[dict[str, Any]]:
    """Captures of one setting."""
    if isinstance(content, list) and all(isinstance(c, dict) for c in content):
        if setting is not None:
            raise InputError(f"{path}: of measure, without settings; leave out --setting")
        return content
    settings = content.get("captures") if isinstance(content, dict) else None
    if not isinstance(settings, dict) or not settings:
        raise _other_kind(path)
    names = ", ".join(f"“{name}”" for name in settings)
    if setting is None and len(settings) > 1:
        raise InputError(f"{path}: holds {names}; say which one prints the picture by --setting")
    chosen = next(iter(settings)) if setting is None else setting
    if chosen not in settings:
        raise InputError(f"{path}: no setting “{chosen}” in it; choose from {names}")
    captures = settings[chosen]
    if not isinstance(captures, list) or not all(isinstance(c, dict) for c in captures):
        raise _other_kind(path)
    return captures


def _other_kind(path: Path) -> InputError:
    return InputError(f"{path}: not what measure --json or rank --json wrote; give such a file")


def _response(path: Path, stored: Any) -> PrintResponse:
    try:
        f, response, error = (
            np.asarray(stored[name], dtype=float) for name in ("frequency", "response", "error")
        )
    except (KeyError, TypeError, ValueError) as fault:
        raise _other_kind(path) from fault
    whole = f.ndim == 1 and f.shape == response.shape == error.shape and len(f) > 2
    if not whole or not np.isfinite([f, response, error]).all() or (np.diff(f) <= 0).any():
        raise _other_kind(path)
    return PrintResponse(f, response, error)


def _mean(path: Path, found: list[PrintResponse]) -> PrintResponse:
    """Mean of the photographs, as far as all reach."""
    f = min((r.frequency for r in found), key=lambda each: float(each[-1]))
    values = np.array([np.interp(f, r.frequency, r.response) for r in found])
    errors = np.array([np.interp(f, r.frequency, r.error) for r in found])
    mean = values.mean(axis=0)
    at_half = int(np.argmin(np.abs(mean - 0.5)))
    off = np.abs(values - mean)[:, at_half]
    apart = (off > DIFFERS * mean[at_half]) & (off > STANDARD_ERRORS * errors[:, at_half])
    if apart.any():
        low, high = values[:, at_half].min(), values[:, at_half].max()
        raise InputError(
            f"{path}: its photographs differ, {low:.2f} to {high:.2f} of the contrast at "
            f"{f[at_half]:g} cycles/mm; give a result of one printer and one setting"
        )
    return PrintResponse(f, mean, np.sqrt((errors**2).mean(axis=0) / len(found)))
