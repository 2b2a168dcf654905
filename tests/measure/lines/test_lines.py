"""Lines, plane offsets and doubled lines on drawn pictures with blur, ragged borders and grain.

All pictures here are simulated; the truth is the geometry they were drawn from.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter, gaussian_filter1d
from scipy.signal import fftconvolve
from scipy.special import ndtr
from scipy.stats import linregress

from dotloupe.errors import RegionError
from dotloupe.measure.lines.ink_offset import LineWindow, _ruler, plane_offsets
from dotloupe.measure.lines.passes import doubling
from dotloupe.measure.lines.printed import printed_line
from dotloupe.measure.uncertainty import Uncertainty
from dotloupe.simulate import FAST, FINE, Alignment, print_picture

PX = 200.0
WIDTH_MM = 0.18


def ink_of_line(
    centre_mm, picture_mm, length_mm=3.0, blur_mm=0.012, tilt_deg=0.0, ragged_mm=0.0, seed=0
):
    """Coverage of an upright line; its borders wander by `ragged_mm` rms over about 20 um."""
    w, h = round(picture_mm * PX), round(length_mm * PX)
    rng = np.random.default_rng(seed)
    x = (np.arange(w) + 0.5) / PX
    y = ((np.arange(h) - (h - 1) / 2) / PX)[:, None]
    lean = np.radians(tilt_deg)
    across = (x - centre_mm - y * np.tan(lean)) * np.cos(lean)
    borders = []
    for side in (WIDTH_MM / 2, -WIDTH_MM / 2):
        wander = gaussian_filter1d(rng.standard_normal((h, 1)), 0.01 * PX, axis=0)
        borders.append(ndtr((across + side + ragged_mm * wander / wander.std()) / blur_mm))
    return borders[0] - borders[1]


def photographed(ink, depth=0.8, grain=0.04, noise=0.01, seed=0):
    """Reflectance with grain that is strongest at half coverage, and white camera noise."""
    rng = np.random.default_rng(seed)
    field = gaussian_filter(rng.standard_normal(ink.shape), 2)
    grains = grain * field / field.std() * np.sqrt(0.2 + ink * (1 - ink))
    return 1 - depth * ink + grains + noise * rng.standard_normal(ink.shape)


@pytest.mark.parametrize("tilt_deg", [0.0, 1.3, -2.0])
@pytest.mark.parametrize("runs", ["vertical", "horizontal"])
def test_place_width_and_tilt_come_back(tilt_deg, runs):
    picture = photographed(ink_of_line(0.2637, 0.52, tilt_deg=tilt_deg))
    found = printed_line(picture if runs == "vertical" else picture.T, PX, runs=runs)
    # Grain of 4 % and noise of 1 % over 3 mm leave 0.4 um (place) and 0.8 um (width) rms here.
    assert found.position_mm * 1000 == pytest.approx(263.7, abs=1.2)
    assert found.width_um * np.cos(np.radians(tilt_deg)) == pytest.approx(180, abs=2.5)
    assert found.tilt_deg == pytest.approx(tilt_deg, abs=0.05)


def test_a_light_line_on_dark_ground_is_the_same_line():
    picture = photographed(ink_of_line(0.27, 0.52))
    dark, light = printed_line(picture, PX), printed_line(1.2 - picture, PX)
    assert light.position_mm == pytest.approx(dark.position_mm, abs=1e-9)
    assert light.width_um == pytest.approx(dark.width_um, abs=1e-6)
    assert light.depth == pytest.approx(-dark.depth)


@pytest.mark.parametrize("ragged_um", [3.0, 6.0, 10.0])
def test_raggedness_is_the_wander_of_the_borders(ragged_um):
    ink = ink_of_line(0.26, 0.52, ragged_mm=ragged_um / 1000, tilt_deg=0.7, seed=4)
    found = printed_line(photographed(ink, grain=0.0, noise=0.002), PX)
    assert found.raggedness_um == pytest.approx(ragged_um, rel=0.08)


def test_smooth_borders_show_noise_alone():
    found = printed_line(photographed(ink_of_line(0.26, 0.52), grain=0, noise=0.01), PX)
    # Noise over the slope of the border: 0.01 / (0.8 / (sqrt(2 pi) 12 um)) = 0.4 um at its
    # steepest, somewhat more at 60 %.
    assert found.raggedness_um < 0.6


@pytest.mark.parametrize("offset_um", [-60.0, -25.0, 0.0, 10.0, 30.0, 60.0])
@pytest.mark.parametrize("runs", ["vertical", "horizontal"])
def test_plane_offsets_come_back_within_one_um(offset_um, runs):
    """Cyan, magenta and yellow between two black lines, each absorbing one channel most."""
    pitch = 0.52
    absorbs = {
        "black": (0.85, 0.85, 0.85),
        "cyan": (0.8, 0.3, 0.1),
        "magenta": (0.15, 0.75, 0.3),
        "yellow": (0.02, 0.1, 0.7),
    }
    order = ("black", "cyan", "magenta", "yellow", "black")
    moved = {"black": 0.0, "cyan": offset_um, "magenta": offset_um / 2, "yellow": -offset_um}
    apart_um = (0.0, 1.5, 4.0)  # the lens places the channels apart
    picture = np.empty((600, round(5 * pitch * PX), 3))
    for channel in range(3):
        ink = np.zeros(picture.shape[:2])
        for i, plane in enumerate(order):
            at = (i + 0.5) * pitch + (moved[plane] + apart_um[channel]) / 1000
            line = ink_of_line(at, 5 * pitch, tilt_deg=0.4, ragged_mm=0.003, seed=i)
            ink += absorbs[plane][channel] * line
        picture[..., channel] = photographed(ink, depth=1.0, seed=channel)
    windows = [
        LineWindow(plane, i * pitch, 0.0, pitch, 3.0, (i + 0.5) * pitch)
        for i, plane in enumerate(order)
    ]
    if runs == "horizontal":
        picture = picture.transpose(1, 0, 2)
        windows = [
            LineWindow(w.plane, 0.0, w.left_mm, w.height_mm, w.width_mm, w.drawn_mm)
            for w in windows
        ]
    found = {o.plane: o for o in plane_offsets(picture, PX, windows, runs=runs)}
    assert [found[p].channel for p in ("cyan", "magenta", "yellow")] == [0, 1, 2]
    for plane in ("cyan", "magenta", "yellow"):
        assert found[plane].offset_um == pytest.approx(moved[plane], abs=1.0)
        low, high = found[plane].interval
        assert high - low < 4.0


def black_lines(drawn_mm):
    return [LineWindow("black", 0.0, 0.0, 0.5, 3.0, drawn) for drawn in drawn_mm]


def test_a_ruler_whose_lines_scatter_is_as_unsure_as_a_regression_through_them():
    """Four black lines out of place by 5 um, each known to 0.1 um: their scatter is the error."""
    drawn = np.array([0.0, 1.0, 2.5, 4.0])
    place = 0.3 + 1.002 * drawn + 0.005 * np.array([1.0, -1.5, 1.0, -0.5])
    ruler = _ruler([(p, Uncertainty(1e-4)) for p in place], black_lines(drawn))
    line = linregress(drawn, place)
    assert (ruler.shift, ruler.scale) == pytest.approx((line.intercept, line.slope))
    errors = np.sqrt(np.diag(ruler.covariance))
    assert errors == pytest.approx((line.intercept_stderr, line.stderr))


def test_a_ruler_whose_lines_agree_is_as_unsure_as_they_are():
    """Exactly in place: sums of squares about the mean give e/sqrt(Sxx) for the scale."""
    drawn = np.array([0.0, 1.0, 2.5, 4.0])
    ruler = _ruler([(0.3 + d, Uncertainty(2e-4)) for d in drawn], black_lines(drawn))
    assert (ruler.shift, ruler.scale) == pytest.approx((0.3, 1.0))
    spread = np.sum((drawn - drawn.mean()) ** 2)
    assert np.sqrt(ruler.covariance[1, 1]) == pytest.approx(2e-4 / np.sqrt(spread))


def test_one_black_line_gives_a_place_and_no_scale():
    ruler = _ruler([(1.31, Uncertainty(2e-4))], black_lines([1.0]))
    assert (ruler.shift, ruler.scale) == pytest.approx((0.31, 1.0))
    assert ruler.covariance == pytest.approx(np.diag([4e-8, 0.0]))


PRIMARY = {
    "black": (0, 0, 0),
    "cyan": (0, 255, 255),
    "magenta": (255, 0, 255),
    "yellow": (255, 255, 0),
}
PITCH_MM, LINE_MM = 25.4 / 30, 25.4 / 120


def simulated_offset_errors(mode, offset_um, seed):
    """Offsets found on a simulated print at 720 ppi less those the drops really had, in um.

    Lines lie alike on the printer's raster, so that it moves none against another.
    """
    planes = ("black", "cyan", "magenta", "yellow", "black")
    pitch_px, line_px = 24, 6
    picture = np.full((85, pitch_px * len(planes), 3), 255, dtype=np.uint8)
    for i, plane in enumerate(planes):
        left = i * pitch_px + (pitch_px - line_px) // 2
        picture[:, left : left + line_px] = PRIMARY[plane]
    alignment = Alignment(
        cyan_um=(offset_um, 0.0),
        magenta_um=(-offset_um / 2, 0.0),
        yellow_um=(offset_um / 3, 0.0),
        bidirectional_um=3.0,
    )
    margin = 0.4
    printed = print_picture(
        picture, 720, mode=mode, alignment=alignment, seed=seed, margin_mm=margin
    )
    windows = [
        LineWindow(plane, margin + i * PITCH_MM, margin, PITCH_MM, 2.9, (i + 0.5) * PITCH_MM)
        for i, plane in enumerate(planes)
    ]
    found = plane_offsets(printed.reflectance, printed.pixels_per_mm, windows)
    return [o.offset_um - printed.plane_offset_um(o.plane)[0] for o in found]


def test_plane_offsets_of_a_simulated_print():
    errors = simulated_offset_errors(FINE, 30.0, seed=3)
    # Dots of 28 um, some 600 to a border: chance alone moves a line by half a micrometre.
    assert np.abs(errors).max() < 1.5


@pytest.mark.slow
@pytest.mark.parametrize("mode", [FINE, FAST])
def test_plane_offsets_of_simulated_prints_are_within_one_um(mode):
    """0 to 60 um over six prints: 1 um rms, 2 um at most."""
    offsets = (0.0, 10.0, 20.0, 30.0, 45.0, 60.0)
    errors = np.array(
        [simulated_offset_errors(mode, o, seed) for seed, o in enumerate(offsets, start=1)]
    )
    rms = np.sqrt(np.mean(errors**2))
    print(f"{mode.name}: rms {rms:.2f} um, largest {np.abs(errors).max():.2f} um")
    assert rms < 1.0
    assert np.abs(errors).max() < 2.0


def test_intervals_of_place_hold_the_truth():
    inside = 0
    for seed in range(60):
        ink = ink_of_line(0.26, 0.52, length_mm=2.0, ragged_mm=0.004, seed=seed)
        low, high = printed_line(photographed(ink, seed=seed), PX).position_interval
        inside += low <= 0.26 <= high
    assert inside >= 51  # 95 % expected; 51 of 60 is its lower 0.1 % point


@pytest.mark.slow
def test_intervals_of_place_and_width_hold_the_truth_over_300_lines():
    inside = np.zeros(2)
    for seed in range(300):
        ink = ink_of_line(0.26, 0.52, length_mm=2.0, ragged_mm=0.004, tilt_deg=0.6, seed=seed)
        found = printed_line(photographed(ink, seed=seed), PX)
        width = 1000 * WIDTH_MM / np.cos(np.radians(0.6))
        inside += [
            found.position_interval[0] <= 0.26 <= found.position_interval[1],
            found.width_interval[0] <= width <= found.width_interval[1],
        ]
    print(f"place {inside[0] / 3:.1f} %, width {inside[1] / 3:.1f} % inside")
    assert (inside >= 276).all()
    assert (inside <= 294).all()


def doubled(offset_um, blur_mm=0.01, share=0.5, seed=0):
    first = ink_of_line(0.26 - share * offset_um / 1000, 0.52, blur_mm=blur_mm, tilt_deg=0.5)
    second = ink_of_line(0.26 + (1 - share) * offset_um / 1000, 0.52, blur_mm=blur_mm, tilt_deg=0.5)
    return photographed((1 - share) * first + share * second, seed=seed)


@pytest.mark.parametrize("offset_um", [35.0, 45.0, 60.0])
@pytest.mark.parametrize("share", [0.5, 0.4])
def test_offset_between_two_passes_comes_back(offset_um, share):
    found = doubling(doubled(offset_um, share=share), PX)
    assert found.seen
    assert found.offset_um == pytest.approx(offset_um, abs=1.0)
    assert found.share == pytest.approx(share, abs=0.03)
    # the line is drawn about 0.26 mm from the left of its region
    centre_mm = found.profile @ found.across_mm / found.profile.sum()
    assert centre_mm == pytest.approx(0.26, abs=0.002)


def test_passes_that_meet_are_not_called_doubled():
    found = doubling(doubled(0.0), PX)
    assert not found.seen
    assert found.offset_um == 0
    # The largest offset unseen: two sigma of the blur.
    assert found.interval[1] == pytest.approx(20, abs=1)


def test_defocus_is_not_called_doubled():
    """A disc blurs a border into a slope that two Gaussian steps fit better than one."""
    for radius in (3, 5, 8, 12):
        y, x = np.mgrid[-15:16, -15:16]
        disc = np.clip(radius + 0.5 - np.hypot(x, y), 0, 1)
        sharp = np.pad(ink_of_line(0.35, 0.7, blur_mm=0.005), 20, mode="edge")
        ink = fftconvolve(sharp, disc / disc.sum(), mode="same")[20:-20, 20:-20]
        assert not doubling(photographed(ink, grain=0.01), PX).seen


def test_a_doubled_line_lies_where_the_mean_of_its_passes_lies():
    assert printed_line(doubled(60.0), PX).position_mm == pytest.approx(0.26, abs=0.001)


EVEN = 0.9 + 0.02 * np.random.default_rng(0).standard_normal((300, 100))


@pytest.mark.parametrize(
    ("region", "says"),
    [
        (EVEN, "clear of the grain"),
        (np.where(np.arange(100) < 50, 0.2, 1.0) + 0 * EVEN, "side to side"),
        (photographed(ink_of_line(0.04, 0.52)), "side"),
        (photographed(ink_of_line(0.2, 0.8) + ink_of_line(0.6, 0.8)), "more than one"),
        (np.full((300, 100), np.nan), "not numbers"),
        (np.minimum(photographed(ink_of_line(0.26, 0.52)), 0.995), "clipped"),
        (np.ones((3, 100)), "pixels"),
        (np.ones((300, 100, 3)), "one channel"),
    ],
)
def test_what_is_not_one_line_is_refused(region, says):
    with pytest.raises(RegionError, match=says):
        printed_line(region, PX)


def test_windows_that_cannot_be_compared_are_refused():
    picture = photographed(ink_of_line(0.26, 0.52))
    window = LineWindow("cyan", 0.0, 0.0, 0.52, 3.0, 0.26)
    with pytest.raises(RegionError, match="black"):
        plane_offsets(picture, PX, [window])
    black = LineWindow("black", 0.2, 0.0, 0.52, 3.0, 0.26)
    with pytest.raises(RegionError, match="beyond"):
        plane_offsets(picture, PX, [window, black])
