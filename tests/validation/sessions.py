"""Invented test sessions, drawn at random from stated ranges; nothing here is tuned on.

A session is what a person does in an evening: one printer, one paper, one camera, two settings
that differ in one thing, one or two prints of each, one photograph of every print. All of it is
simulated.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from dotloupe import simulate

if TYPE_CHECKING:
    from numpy.random import Generator

SENT_PPI = (240, 300, 360, 480, 600, 720)
SUBJECTS = ("mode", "sent ppi", "alignment", "nothing")
SUBJECT_SHARES = (0.35, 0.3, 0.2, 0.15)
TWO_PRINTS_SHARE = 0.1
CAMERA_KNOWN_SHARE = 0.5
ENDINGS = (".jpg", ".png", ".tif")
ENDING_SHARES = (0.6, 0.15, 0.25)
FAULTS = (
    "defocus",
    "tilt",
    "curl",
    "motion",
    "sharpening",
    "compression",
    "uneven light",
    "too dark",
    "clipped",
)

RANGES = """\
| drawn | range |
|---|---|
| printer raster | 600 or 720 ppi |
| drop | 1.5 to 4 pl, spreading 1.5 to 2 times on paper, rim 2 to 5 um |
| nozzles' own aim | 1.5 to 5 um |
| mode | 4, 8 or 16 passes, one or both ways, drops' errors 2.5 to 9 um along the travel |
| alignment | planes 2 um rms when aligned, 5 to 30 um rms when not; ways apart 3 or 10 to 60 um |
| sent ppi | 240, 300, 360, 480, 600 or 720 |
| paper | light spreads 25 to 55 um, relief 0.1 to 1 % rms of 0.06 to 0.3 mm |
| camera | 55 to 85 pixels/mm, f/4 to f/8, lens blur 0.3 to 0.8 px, full well 15000 to 50000 e |
| hand | 2 degrees of turn, 0.3 of tilt (rms), 0.05 mm of focus (rms), 0 to 0.08 mm of curl |
| light | slope of 5 % rms, white at 0.5 to 0.85 of the full well |
| file | JPEG of quality 90 to 98 (60 %), PNG of 8 bits (15 %), TIFF of 16 bits (25 %) |
"""


@dataclass(frozen=True)
class Setting:
    """How one of the two sets of prints was made."""

    name: str
    sent_ppi: int
    mode: simulate.Mode
    alignment: simulate.Alignment

    def differs_from(self, other: Setting) -> bool:
        """Whether anything but the name differs."""
        return replace(self, name="") != replace(other, name="")


@dataclass(frozen=True)
class Session:
    """One session; `faults` holds a fault's name for every photograph, or nothing."""

    seed: int
    subject: str
    printer: simulate.Printer
    paper: simulate.Paper
    camera: simulate.Camera
    settings: tuple[Setting, Setting]
    prints: int
    shots: tuple[simulate.Shot, ...]
    faults: tuple[str, ...]
    ending: str
    camera_known: bool


def draw_session(seed: int, *, faulty: bool) -> Session:
    """Draw one session; careful and faulty sessions of one seed are different ones."""
    chance = np.random.default_rng([seed, 20])
    subject = str(chance.choice(SUBJECTS, p=SUBJECT_SHARES))
    prints = 2 if subject == "nothing" or chance.random() < TWO_PRINTS_SHARE else 1
    pixels_per_mm = chance.uniform(55, 85)
    ending = str(chance.choice(ENDINGS, p=ENDING_SHARES))
    faults = tuple(str(f) for f in chance.choice(FAULTS, 2 * prints)) if faulty else ()
    shots = tuple(_shot(chance, pixels_per_mm, 10 * seed + i) for i in range(2 * prints))
    if faulty:
        shots = tuple(_spoilt(s, f, chance) for s, f in zip(shots, faults, strict=True))
    return Session(
        seed=seed,
        subject=subject,
        printer=_printer(chance, seed),
        paper=_paper(chance),
        camera=_camera(chance, pixels_per_mm, seed),
        settings=_settings(chance, subject),
        prints=prints,
        shots=shots,
        faults=faults,
        ending=ending,
        camera_known=bool(chance.random() < CAMERA_KNOWN_SHARE),
    )


def _printer(chance: Generator, seed: int) -> simulate.Printer:
    base = simulate.PRINTER_600 if chance.random() < 0.5 else simulate.PRINTER_720
    return replace(
        base,
        name="invented, drawn at random",
        drop_pl=chance.uniform(1.5, 4),
        spread_factor=chance.uniform(1.5, 2),
        dot_edge_um=chance.uniform(2, 5),
        nozzle_aim_um=chance.uniform(1.5, 5),
        black_onset=chance.uniform(0.05, 0.25),
        serial=seed,
    )


def _paper(chance: Generator) -> simulate.Paper:
    return simulate.Paper(
        name="invented, drawn at random",
        spread_um=chance.uniform(25, 55),
        coating_um=chance.uniform(10, 20),
        surface_reflectance=chance.uniform(0.002, 0.006),
        texture_rms=chance.uniform(0.001, 0.01),
        texture_mm=chance.uniform(0.06, 0.3),
    )


def _camera(chance: Generator, pixels_per_mm: float, seed: int) -> simulate.Camera:
    return simulate.Camera(
        width_px=2 * round(16.5 * pixels_per_mm),
        height_px=2 * round(11.25 * pixels_per_mm),
        f_number=chance.uniform(4, 8),
        distance_mm=chance.uniform(180, 400),
        aberration_px=chance.uniform(0.3, 0.8),
        full_well_e=chance.uniform(15000, 50000),
        read_noise_e=chance.uniform(2, 6),
        serial=seed,
    )


def _shot(chance: Generator, pixels_per_mm: float, seed: int) -> simulate.Shot:
    return simulate.Shot(
        pixels_per_mm=pixels_per_mm,
        rotation_deg=chance.uniform(-2, 2),
        tilt_x_deg=chance.normal(0, 0.3),
        tilt_y_deg=chance.normal(0, 0.3),
        focus_error_mm=chance.normal(0, 0.05),
        curl_mm=chance.uniform(0, 0.08),
        light_slope=(chance.normal(0, 0.05), chance.normal(0, 0.05)),
        exposure=chance.uniform(0.5, 0.85),
        jpeg_quality=int(chance.integers(90, 99)),
        seed=seed,
    )


def _spoilt(shot: simulate.Shot, fault: str, chance: Generator) -> simulate.Shot:
    """One fault, from hardly harmful to gross."""
    amount, way = chance.uniform(0.3, 1.0), chance.choice([-1.0, 1.0])
    changes = {
        "defocus": {"focus_error_mm": way * 0.6 * amount},
        "tilt": {"tilt_x_deg": way * 3 * amount},
        "curl": {"curl_mm": 0.9 * amount},
        "motion": {"motion_um": (90 * amount, 40 * amount)},
        "sharpening": {"sharpening": 2.0 * amount},
        "compression": {"jpeg_quality": round(70 - 55 * amount)},
        "uneven light": {"light_slope": (way * 1.2 * amount, 0.1)},
        "too dark": {"exposure": 0.3 * (1 - 0.9 * amount)},
        "clipped": {"exposure": 1.02 + 0.3 * amount},
    }
    return replace(shot, **changes[fault])


def _settings(chance: Generator, subject: str) -> tuple[Setting, Setting]:
    one = Setting("one", int(chance.choice(SENT_PPI[1:])), _mode(chance), _alignment(chance, False))
    other = replace(one, name="other")
    if subject == "mode":
        other = replace(other, mode=_mode(chance))
    elif subject == "sent ppi":
        others = [ppi for ppi in SENT_PPI if ppi != one.sent_ppi]
        other = replace(other, sent_ppi=int(chance.choice(others)))
    elif subject == "alignment":
        other = replace(other, alignment=_alignment(chance, True))
    return one, other


def _mode(chance: Generator) -> simulate.Mode:
    speed = chance.random()
    return simulate.Mode(
        name="drawn at random",
        passes=int(chance.choice([4, 8, 16])),
        bidirectional=bool(chance.random() < 0.5),
        jitter_x_um=2.5 + 6.5 * speed,
        jitter_y_um=2 + 3 * speed,
        feed_error_um=chance.uniform(2, 6),
        feed_bias_um=chance.uniform(0.2, 2),
        volume_variation=chance.uniform(0.05, 0.12),
        satellite_share=0.03 + 0.17 * speed,
        satellite_um=15 + 20 * speed,
    )


def _alignment(chance: Generator, settled: bool) -> simulate.Alignment:
    spread_um = chance.uniform(5, 30) if settled else 2.0
    apart_um = chance.uniform(10, 60) if settled else 3.0
    planes = chance.normal(0, spread_um, (3, 2))
    cyan, magenta, yellow = ((float(x), float(y)) for x, y in planes)
    return simulate.Alignment(cyan, magenta, yellow, bidirectional_um=apart_um)
