"""Two photographs of a print that did not move: the camera's noise leaves the grain (simulated)."""

from dataclasses import replace

import numpy as np
import pytest

from dotloupe import simulate
from dotloupe.session.measuring import measure_file, measure_paths
from dotloupe.session.options import RunOptions

FEW_ELECTRONS = simulate.Camera(
    width_px=1600, height_px=1080, full_well_e=1500.0, pixel_gain_rms=0.0, pixel_offset_rms_e=0.0
)
MANY_ELECTRONS = replace(FEW_ELECTRONS, full_well_e=1e7, read_noise_e=0.0)
FIRST = simulate.Shot(seed=1, pixels_per_mm=50.0)
ALONE = RunOptions(pair_shots=False)


@pytest.fixture(scope="module")
def folder(tmp_path_factory, fine_print):
    """A print without noise; twice with noise, unmoved; once more, laid anew."""
    place = tmp_path_factory.mktemp("shots")
    _, printed = fine_print
    anew = replace(FIRST, seed=5, rotation_deg=FIRST.rotation_deg + 0.3)
    shots = {
        "quiet": (MANY_ELECTRONS, FIRST),
        "still_shot1": (FEW_ELECTRONS, FIRST),
        "still_shot2": (FEW_ELECTRONS, replace(FIRST, seed=2)),
        "laid_shot1": (FEW_ELECTRONS, FIRST),
        "laid_shot2": (FEW_ELECTRONS, anew),
    }
    for name, (camera, shot) in shots.items():
        seen = simulate.photograph(printed, camera=camera, shot=shot)
        simulate.write_capture(place / f"{name}.png", seen)
    return place


@pytest.fixture(autouse=True)
def own_cache(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))


def departure(measured, truth):
    """Rms of the relative departures of the granularity of the greys.

    The grain of the light colours hardly rises above the noise of so few electrons.
    """
    off = [
        measured.tints[name].rms_granularity / grain.rms_granularity - 1
        for name, grain in truth.tints.items()
        if "grey" in name
    ]
    return float(np.sqrt(np.mean(np.square(off))))


def test_noise_of_the_camera_leaves_the_grain_of_an_unmoved_print(folder, table_row):
    """One shot alone can only bound the noise, from its fall between paper and tint."""
    truth = measure_file(folder / "quiet.png")[0]
    one, other = (folder / f"still_shot{n}.png" for n in (1, 2))
    paired, alone = measure_file(one)[0], measure_file(one, ALONE)[0]
    table_row(
        "second shot of an unmoved print (simulated)",
        f"granularity of greys off by {100 * departure(paired, truth):.2f} % rms in a pair, "
        f"{100 * departure(alone, truth):.2f} % alone",
    )
    assert paired.parameters.second_shot.path == str(other)
    assert {g.shots for g in paired.tints.values()} == {2}
    assert alone.parameters.second_shot is None
    assert departure(paired, truth) < 0.5 * departure(alone, truth)


def test_print_laid_anew_is_measured_by_itself(folder):
    assert measure_file(folder / "laid_shot2.png")[0].parameters.second_shot is None


def test_cache_knows_the_second_shot_and_one_that_cannot_be_read_is_left_out(folder, tmp_path):
    one, other = (tmp_path / f"still_shot{n}.png" for n in (1, 2))
    one.write_bytes((folder / one.name).read_bytes())
    other.write_bytes(b"no picture")
    (alone,) = measure_paths([one])
    other.write_bytes((folder / other.name).read_bytes())
    (paired,) = measure_paths([one])
    (again,) = measure_paths([one])
    assert alone.fit
    assert alone.parameters.second_shot is None
    assert paired.parameters.second_shot.path == str(other)
    assert again.to_dict() == paired.to_dict()
