"""Results to draw, from invented measurements."""

import hashlib
from dataclasses import replace
from types import SimpleNamespace

import cv2
import numpy as np
import pytest
from PIL import Image

import dotloupe
from dotloupe.compare.ladder.all_criteria import ladder
from dotloupe.compare.ranking.ranking import rank
from dotloupe.measurement import PatchMeasurement
from dotloupe.number import CRITERIA, Number
from dotloupe.patch.patch import Patch
from dotloupe.patch.srgb import srgb_encode
from dotloupe.registration.registration import Registration

TYPICAL = {
    "detail_x": 4.0,
    "detail_y": 4.2,
    "line_pairs_x": 8.0,
    "line_pairs_y": 8.0,
    "grain": 0.8,
}
FREQUENCY = np.linspace(0, 20, 81)
BARS = np.array([2.0, 2.83, 4.0, 5.66, 8.0, 11.31])


def curve_details(values):
    """Curves that follow from a measurement's numbers: a Gaussian edge and its bars."""
    directions, limits = {}, {}
    for axis in ("x", "y"):
        mtf = 0.5 ** ((FREQUENCY / values[f"detail_{axis}"]) ** 2)
        directions[f"detail_{axis}"] = SimpleNamespace(
            frequency=FREQUENCY, mtf=mtf, mtf_low=mtf - 0.01, mtf_high=mtf + 0.01
        )
        contrast = 0.1 ** ((BARS / values[f"line_pairs_{axis}"]) ** 2)
        limits[axis] = SimpleNamespace(
            frequency=BARS,
            contrast=contrast,
            contrast_low=contrast - 0.02,
            contrast_high=contrast + 0.02,
            counted=contrast > 0.1,
            threshold=0.1,
            nyquist=11.8,
        )
    power = values["grain"] ** 2 * np.exp(-FREQUENCY / 8)
    tint = SimpleNamespace(
        frequency=FREQUENCY,
        noise_power=1e-4 * power,
        noise_power_low=0.9e-4 * power,
        noise_power_high=1.1e-4 * power,
        lightness_noise_power=power,
        trusted_to=18.0,
        mean_lightness=63.0,
        mean_reflectance=0.3,
        visual_graininess=values["grain"],
        visual_graininess_interval=(0.9 * values["grain"], 1.1 * values["grain"]),
    )
    texture = SimpleNamespace(
        **{
            axis: SimpleNamespace(
                frequency=FREQUENCY[4:40],
                transfer=0.5 ** ((FREQUENCY[4:40] / values[f"detail_{axis}"]) ** 2),
                transfer_low=0.5 ** ((FREQUENCY[4:40] / values[f"detail_{axis}"]) ** 2) - 0.02,
                transfer_high=0.5 ** ((FREQUENCY[4:40] / values[f"detail_{axis}"]) ** 2) + 0.02,
                kept=8.0,
            )
            for axis in ("x", "y")
        }
    )
    return {
        "directions": directions,
        "limits": limits,
        "texture": texture,
        "tints": {"grey40": tint},
    }


def photograph(setting, number, values, *, sent_ppi=600.0, error=0.01):
    """One invented measurement, with an interval of two standard errors about every number."""
    numbers = {
        name: Number(
            v,
            v * (1 - 2 * error),
            v * (1 + 2 * error),
            CRITERIA[name].unit,
            CRITERIA[name].measurand,
        )
        for name, v in values.items()
    }
    name = f"{setting}-{number}"
    return PatchMeasurement(
        path=f"{name}.tif",
        sha256=hashlib.sha256(name.encode()).hexdigest(),
        print_id=str(number),
        run=1 + (sum(setting.encode()) - sum(b"fast")) % 250,
        sent_ppi=sent_ppi,
        fit=True,
        reasons=(),
        warnings=(),
        numbers=numbers,
        **curve_details(values),
    )


def photographs(setting, seed, *, count=3, spread=0.02, sent_ppi=600.0, **changed):
    """Invented measurements of one setting, a print each."""
    rng = np.random.default_rng(seed)
    true = TYPICAL | changed
    return [
        photograph(
            setting,
            i,
            {c: v * (1 + spread * rng.standard_normal()) for c, v in true.items()},
            sent_ppi=sent_ppi,
        )
        for i in range(count)
    ]


@pytest.fixture(scope="session")
def make_photographs():
    return photographs


@pytest.fixture(scope="session")
def ranking():
    """Less grain in the fine mode, detail alike."""
    return rank({"fast": photographs("fast", 1), "fine": photographs("fine", 2, grain=0.4)})


@pytest.fixture(scope="session")
def climbing():
    """Detail that rises with the ppi sent and levels off."""
    return ladder(
        {
            ppi: photographs(
                f"at{ppi}",
                ppi,
                spread=0.01,
                sent_ppi=ppi,
                detail_x=5 / (1 + (200 / ppi) ** 3) ** (1 / 3),
            )
            for ppi in (150, 240, 300, 360, 450, 600, 720)
        }
    )


@pytest.fixture(scope="session")
def ranking_page(ranking, tmp_path_factory):
    """The report of `ranking`, written once."""
    return dotloupe.write_report(ranking, tmp_path_factory.mktemp("ranking"))


TO_CAPTURE = np.array([[31.0, 1.3, 55.0], [-1.2, 30.6, 70.0], [4e-4, 2e-4, 1.0]])
"""Patch mm to pixels of the stand-in photographs: tilted, and in slight perspective."""


def stand_in(patch, path, seed):
    """Photograph a patch as drawn, placed where `TO_CAPTURE` says, with some grain; no printer."""
    per_mm = patch.sent_ppi / 25.4
    from_drawing = np.array(
        [[1 / per_mm, 0, 0.5 / per_mm], [0, 1 / per_mm, 0.5 / per_mm], [0, 0, 1]]
    )
    light = patch.reflectance().astype(np.float32)
    light *= 1 + 0.05 * np.random.default_rng(seed).standard_normal(light.shape[:2])[..., None]
    seen = cv2.warpPerspective(
        light,
        TO_CAPTURE @ from_drawing,
        (1050, 760),
        flags=cv2.INTER_LINEAR,
        borderValue=(1.0, 1.0, 1.0),
    )
    coded = np.round(255 * srgb_encode(np.clip(0.8 * seen, 0, 1))).astype(np.uint8)
    Image.fromarray(coded).save(path)


@pytest.fixture(scope="session")
def pictured(tmp_path_factory):
    """A ranking of two settings whose photographs are there to be shown."""
    folder = tmp_path_factory.mktemp("captures")
    settings = {}
    for number, (setting, grain) in enumerate((("fast", 0.8), ("fine", 0.4))):
        patch = Patch(600, number + 1, setting)
        settings[setting] = []
        for shot, m in enumerate(photographs(setting, number + 1, count=2, grain=grain)):
            path = folder / f"{setting}{shot}.png"
            stand_in(patch, path, seed=10 * number + shot)
            registration = Registration(np.linalg.inv(TO_CAPTURE), 31.0, 2.0, 0.06, patch)
            settings[setting].append(
                replace(
                    m,
                    path=str(path),
                    sha256=hashlib.sha256(path.read_bytes()).hexdigest(),
                    registration=registration,
                )
            )
    return rank(settings)


@pytest.fixture(scope="session")
def pictured_page(pictured, tmp_path_factory):
    """The report of `pictured`, written once."""
    return dotloupe.write_report(pictured, tmp_path_factory.mktemp("pictured"))
