"""A patch printed plain, its response measured, the same patch sharpened for it and printed again.

All data are simulated, by the printers of `tests/printers`. Run this file to print the table:
`python tests/prepare/printing_again.py NAME...`.
"""

from __future__ import annotations

import json
import sys
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from printers import HELD_OUT, PRINTERS
from printers.cameras import Camera, photograph
from printers.printed import Floats, Print, Printer, srgb_linear
from printers.truth import MID, _strip

from dotloupe import Patch, measure_capture
from dotloupe.capture import load_picture
from dotloupe.measurement import Measurement
from dotloupe.prepare import Prepared, load_response, prepare

CAMERA = Camera(pixels_per_mm=100.0, turn_deg=0.7)
PRINTS = 2
HALO_BIN_MM, HALO_REACH_MM = 0.01, 1.2


@dataclass(frozen=True)
class Again:
    """What plain and sharpened prints show, by axis: `contrast` at the plain print's half."""

    half_mm: dict[str, float]
    plain: dict[str, float]
    sharpened: dict[str, float]
    expected: dict[str, float]
    curve_off: dict[str, float]
    halo_plain: dict[str, float]
    halo: dict[str, float]
    grain_plain: float
    grain: float


@dataclass(frozen=True)
class Sharpening:
    """A printer before which every drawing is sharpened."""

    printer: Printer
    response: object

    def print_drawing(self, reflectance: Floats, sent_ppi: float, seed: int, **options) -> Print:
        """Sharpen a drawing of linear reflectance and print it."""
        sent = sharpened(reflectance, sent_ppi, self.response)
        return self.printer.print_drawing(sent, sent_ppi, seed, **options)


def sharpened(reflectance: Floats, sent_ppi: float, response) -> Floats:
    """Linear light of the 8-bit file that `prepare` makes of a drawing."""
    from dataclasses import replace

    from dotloupe.capture import picture_of
    from dotloupe.patch import srgb_encode

    picture = picture_of(np.asarray(srgb_encode(np.clip(reflectance, 0, 1))))
    prepared: Prepared = prepare(replace(picture, ppi=sent_ppi), sent_ppi, response=response)
    return srgb_linear(prepared.pixels / 65535.0)


def camera_mtf() -> tuple[Floats, Floats]:
    """Closed form of the camera's lens and pixel."""
    f = np.linspace(0, 60, 601)
    lens = np.exp(-2 * (np.pi * CAMERA.lens_sigma_mm * f) ** 2)
    return f, lens * np.sinc(f / CAMERA.pixels_per_mm)


def measured(prints, folder: Path) -> list[Measurement]:
    """Photograph each print and measure it, the camera taken out."""
    found = []
    for number, printed in enumerate(prints):
        capture = photograph(printed, CAMERA, seed=number).to_capture(folder)
        found.append(measure_capture(capture, camera_mtf=camera_mtf()))
    return found


def contrast(measurements: list[Measurement], axis: str, at: Floats) -> Floats:
    """Mean response along an axis."""
    each = [np.interp(at, m.response[axis].frequency, m.response[axis].response)
            for m in measurements]  # fmt: skip
    return np.mean(each, axis=0)


def halo(printer, ppi: float, axis: str, strips: int = 4) -> float:
    """Overshoot of a long edge averaged by distance, of its step, on whichever side is more."""
    bins = np.arange(-HALO_REACH_MM, HALO_REACH_MM, HALO_BIN_MM)
    total, count = np.zeros((2, bins.size - 1))
    for strip in range(strips):
        distance, light = _strip(printer, ppi, CAMERA, axis, strip, MID, (None, 0.0), 100, None)
        total += np.histogram(distance, bins, weights=light)[0]
        count += np.histogram(distance, bins)[0]
    profile = total / count
    far = int(0.4 / HALO_BIN_MM)
    dark, light = profile[:far].mean(), profile[-far:].mean()
    return float(max(profile.max() - light, dark - profile.min()) / (light - dark))


def printed_again(name: str, seed: int = 0) -> Again:
    """Print plain, measure, sharpen for what was measured, and print again."""
    printer = PRINTERS[name]
    ppi = printer.driver.raster_ppi
    patch = Patch(ppi, 1)
    with TemporaryDirectory() as kept:
        folder = Path(kept)
        plain = measured((printer(patch, seed + n) for n in range(PRINTS)), folder)
        (folder / "plain.json").write_text(json.dumps([m.to_dict() for m in plain]))
        response = load_response(folder / "plain.json", ppi)
        patch.save(folder / "patch.tif")
        picture = load_picture(folder / "patch.tif")
        prepared = prepare(picture, ppi, response=response)
        sent = srgb_linear(prepared.pixels / 255.0)
        again = measured(
            (printer.print_drawing(sent, ppi, seed + 50 + n) for n in range(PRINTS)), folder
        )
    return _compared(printer, ppi, response, prepared, plain, again)


def _compared(printer, ppi, response, prepared, plain, again) -> Again:
    rows: dict[str, dict[str, float]] = {}
    for axis, found in prepared.sharpening.items():
        end = found.frequency[-1]
        half = end if np.isnan(found.half_before) else found.half_before
        up_to_half = np.arange(1.0, half, 0.5)
        expected = np.interp(up_to_half, found.frequency, found.after)
        got = contrast(again, axis, up_to_half)
        at = np.array([half])
        rows[axis] = {
            "half_mm": half,
            "plain": float(contrast(plain, axis, at)[0]),
            "sharpened": float(contrast(again, axis, at)[0]),
            "expected": float(np.interp(half, found.frequency, found.after)),
            "curve_off": float(np.abs(got / expected - 1).max()),
            "halo_plain": halo(printer, ppi, axis),
            "halo": halo(Sharpening(printer, response), ppi, axis),
        }
    by_axis = {key: {a: row[key] for a, row in rows.items()} for key in rows["x"]}
    grains = [np.mean([m.numbers["grain"].value for m in ms]) for ms in (plain, again)]
    return Again(**by_axis, grain_plain=float(grains[0]), grain=float(grains[1]))


def lines(name: str, found: Again) -> list[str]:
    """Rows of the table."""
    rows = [
        f"{name} {axis}: at {found.half_mm[axis]:.2f} cycles/mm {found.plain[axis]:.3f} plain, "
        f"{found.sharpened[axis]:.3f} sharpened "
        f"({100 * (found.sharpened[axis] / found.plain[axis] - 1):+.0f} %), "
        f"{found.expected[axis]:.3f} expected "
        f"({100 * (found.sharpened[axis] / found.expected[axis] - 1):+.1f} %; below, within "
        f"{100 * found.curve_off[axis]:.1f} %); halo {100 * found.halo_plain[axis]:.1f} % plain, "
        f"{100 * found.halo[axis]:.1f} % sharpened"
        for axis in found.half_mm
    ]
    change = 100 * (found.grain / found.grain_plain - 1)
    return [*rows, f"{name}: visible grain {found.grain_plain:.3f}, sharpened {change:+.1f} %"]


if __name__ == "__main__":
    for printer_name in sys.argv[1:] or HELD_OUT:
        print(*lines(printer_name, printed_again(printer_name)), sep="\n", flush=True)
