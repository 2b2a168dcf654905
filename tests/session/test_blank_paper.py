"""Blank paper whose light is divided out of every capture, from the command on (simulated)."""

import json
from dataclasses import replace

import numpy as np
import pytest
from command_line import dotloupe

from dotloupe import Patch, simulate
from dotloupe.capture import load_flat_field
from dotloupe.session import measuring
from dotloupe.session.checking import check_file
from dotloupe.session.measuring import measure_file, measure_paths
from dotloupe.session.options import RunOptions

EVEN = simulate.Shot(light_slope=(0.0, 0.0), light_falloff=0.0)
FALLING = simulate.Shot(light_slope=(0.45, -0.3), light_falloff=0.4)


def shadow(shape):
    """A third of the light lost along a stripe across the frame, with soft edges."""
    y, x = np.mgrid[: shape[0], : shape[1]] / EVEN.pixels_per_mm
    across_mm = 0.9 * x + 0.44 * y - 14.0
    return (1 - 0.35 * np.exp(-((across_mm / 6.0) ** 2)))[..., None].astype(np.float32)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A print in even light, with strong fall-off and in a shadow; blank paper in each light."""
    place = tmp_path_factory.mktemp("light")
    patch = Patch(600, run=9, label="simulated")
    printed = simulate.print_picture(patch.draw(), 600, mode=simulate.FINE, seed=4)
    bare = simulate.blank_sheet(30, 20, seed=5)
    for name, shot in (("even", EVEN), ("falling", FALLING)):
        for sheet, of, seed in ((printed, "", 4), (bare, "_blank", 7)):
            seen = simulate.photograph(sheet, shot=replace(shot, seed=seed))
            simulate.write_capture(place / f"{name}{of}.png", seen)
            if name == "even":
                seen = replace(seen, linear=seen.linear * shadow(seen.linear.shape))
                simulate.write_capture(place / f"shaded{of}.png", seen)
            elif sheet is printed:
                for setting, exposure in (("a", 1.0), ("b", 0.98)):
                    (place / setting).mkdir()
                    dimmed = replace(seen, linear=seen.linear * exposure)
                    simulate.write_capture(place / setting / "print1.png", dimmed)
    return place


@pytest.fixture(autouse=True)
def own_cache(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))


def with_blank(folder, light):
    return RunOptions(blank=load_flat_field(folder / f"{light}_blank.png"))


def departures(measured, even):
    """Of every number of edges and grain, as rms of the relative departures by quantity."""
    found = {}
    for name, number in even.numbers.items():
        quantity = number.measurand.quantity.value
        if quantity in ("detail", "visual_graininess", "graininess") and name in measured.numbers:
            off = measured.numbers[name].value / number.value - 1
            found.setdefault(quantity, []).append(off)
    return {quantity: float(np.sqrt(np.mean(np.square(off)))) for quantity, off in found.items()}


def test_what_falling_light_puts_into_grain_goes(folder, table_row):
    """A polynomial fitted to the paper takes most of the fall out; the blank takes out the rest."""
    even, falling = (folder / f"{name}.png" for name in ("even", "falling"))
    true = measure_file(even)[0]
    without, divided = (
        departures(measure_file(falling, given)[0], true)
        for given in (RunOptions(), with_blank(folder, "falling"))
    )
    for quantity in without:
        off = f"{100 * without[quantity]:.2f} %, with blank paper {100 * divided[quantity]:.2f} %"
        table_row("simulated fall of light: departures from even light", f"{quantity} {off}")
    assert divided["visual_graininess"] < without["visual_graininess"]
    assert divided["graininess"] < without["graininess"]
    assert divided["detail"] < 0.005


def test_a_print_in_shadow_becomes_fit(folder, table_row):
    """Without, the light is refused; with, its numbers are those of even light."""
    shaded, options = folder / "shaded.png", with_blank(folder, "shaded")
    assert not measure_file(shaded)[0].fit
    divided = measure_file(shaded, options)[0]
    assert divided.fit
    off = departures(divided, measure_file(folder / "even.png")[0])
    told = ", ".join(f"{name} {100 * value:.2f} %" for name, value in off.items())
    table_row("simulated shadow: departures from even light with blank paper", told)
    assert max(off.values()) < 0.01
    without, divided_by_it = (check_file(shaded, given)[0] for given in (RunOptions(), options))
    assert without.verdict == "not fit"
    assert divided_by_it.fitness.fit


def test_the_cache_keeps_them_apart(folder, monkeypatch, same_bits):
    path, options = folder / "falling.png", with_blank(folder, "falling")
    other = with_blank(folder, "even")
    runs = (RunOptions(), options, other)
    first = [next(measure_paths([path], given)) for given in runs]
    assert len({m.numbers["grain"].value for m in first}) == 3
    monkeypatch.setattr(measuring, "measure_file", lambda *_, **__: pytest.fail("measured again"))
    again = [next(measure_paths([path], given)) for given in runs]
    assert all(same_bits(one, two) for one, two in zip(first, again, strict=True))
    files = [m.parameters.blank_file for m in first]
    assert files[0] is None
    assert [f.sha256 for f in files[1:]] == [options.blank.sha256, other.blank.sha256]


def test_what_was_published_is_measured_again_with_it(folder, tmp_path):
    target = tmp_path / "published.json"
    sheet = folder / "falling_blank.png"
    given = ("--blank", sheet, "--out", tmp_path / "report", "--json", target, "--quiet")
    ranked = dotloupe("rank", folder / "a", folder / "b", *given)
    assert ranked.returncode == 0, ranked.stderr
    (blank,) = json.loads(target.read_text())["parameters"]["blank_paper"]
    assert blank["path"] == str(sheet)
    again = dotloupe("remeasure", target, "--quiet")
    assert "nothing to correct; 2 captures" in again.stdout, again.stderr

    content = json.loads(target.read_text())
    content["parameters"]["blank_paper"][0]["path"] = "gone.png"
    target.write_text(json.dumps(content))
    lost = dotloupe("remeasure", target, "--quiet")
    assert (lost.returncode, len(lost.stderr.splitlines())) == (2, 1)
    assert "gone.png is gone" in lost.stderr


@pytest.mark.parametrize("command", ["check", "measure"])
def test_faults_are_one_line_that_names_the_file(folder, tmp_path, command):
    shaded, small = folder / "shaded.png", tmp_path / "small.png"
    simulate.write_capture(
        small,
        simulate.photograph(
            simulate.blank_sheet(6, 4), camera=simulate.Camera(width_px=600, height_px=400)
        ),
    )
    for blank, words in (
        (tmp_path / "none.png", "none.png: there is no such file"),
        (folder / "even.png", "even.png: not blank paper"),
        (small, "small.png with 600 x 400"),
    ):
        done = dotloupe(command, shaded, "--blank", blank)
        assert done.returncode == 2
        assert [words in line for line in done.stderr.splitlines()].count(True) == 1
        assert "Traceback" not in done.stderr
