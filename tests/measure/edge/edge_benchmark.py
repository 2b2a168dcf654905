"""Prints what the slanted edge reaches on edges known in closed form (simulated, no print).

Run it with ``python tests/measure/edge/edge_benchmark.py``; the tests check parts of it with looser
bounds. Bias is that of a noise-free edge; the standard deviation is held against the
Cramer-Rao bound of a Gaussian edge of unknown place, angle, width and levels.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.polynomial.legendre import leggauss
from scipy.ndimage import gaussian_filter
from scipy.optimize import brentq
from scipy.special import j1, log_ndtr, ndtr

from dotloupe.measure.edge.slanted import slanted_edge

Curve = Callable[[np.ndarray], np.ndarray]

# Standard deviation of MTF50 in percent of the plain standard procedure, from the project's own
# simulation of it (region 80 x 100 px, 5 degrees, 4:1), at noise 1, 2 and 5 % of the step.
PLAIN_DEVIATION = {
    0.6: (1.0, 2.0, 4.5),
    1.0: (0.6, 1.2, 3.2),
    2.0: (0.3, 0.6, 1.5),
    4.0: (0.2, 0.3, 0.8),
}


@dataclass(frozen=True)
class Shape:
    """An edge by its spread function (pixels) and modulus of transfer (cycles/pixel)."""

    name: str
    spread: Curve
    transfer: Curve


def gaussian(sigma):
    return Shape(
        f"Gaussian {sigma:g} px",
        lambda d: ndtr(d / sigma),
        lambda f: np.exp(-2.0 * (np.pi * f * sigma) ** 2),
    )


def core_with_tails(sigma, wider=4.0, share=0.3):
    core, tails = gaussian(sigma), gaussian(sigma * wider)
    return Shape(
        "core with wide tails",
        lambda d: (1 - share) * core.spread(d) + share * tails.spread(d),
        lambda f: (1 - share) * core.transfer(f) + share * tails.transfer(f),
    )


def defocus_disc(radius):
    def spread(d):
        u = np.clip(d / radius, -1.0, 1.0)
        return 0.5 + (u * np.sqrt(1.0 - u * u) + np.arcsin(u)) / np.pi

    def transfer(f):
        x = 2.0 * np.pi * radius * np.maximum(f, 1e-9)
        return np.abs(2.0 * j1(x) / x)

    return Shape("defocus disc", spread, transfer)


def two_steps(sigma, apart, first=0.5):
    def spread(d):
        return first * ndtr((d - apart / 2) / sigma) + (1 - first) * ndtr((d + apart / 2) / sigma)

    def transfer(f):
        turn = np.exp(-1j * np.pi * f * apart)
        return np.abs(first * turn + (1 - first) / turn) * gaussian(sigma).transfer(f)

    return Shape(f"two steps, {100 * first:.0f} % first", spread, transfer)


def one_sided(sigma, reach):
    def spread(d):
        tail = np.exp(0.5 * (sigma / reach) ** 2 - d / reach + log_ndtr(d / sigma - sigma / reach))
        return ndtr(d / sigma) - tail

    return Shape(
        "one-sided spread",
        spread,
        lambda f: gaussian(sigma).transfer(f) / np.sqrt(1.0 + (2 * np.pi * f * reach) ** 2),
    )


def picture(
    shape, angle_deg, *, size=(100, 100), offset=0.3, dark=0.2, light=0.8, bow=0.0, nodes=6
):
    """Near-vertical edge averaged over square pixels by Gauss-Legendre quadrature.

    With `bow` the edge is the arc of a circle that departs so many pixels from its chord.
    """
    at, weight = leggauss(nodes)
    y = np.arange(size[0])[:, None] - 0.5 * (size[0] - 1)
    x = np.arange(size[1])[None, :] - 0.5 * (size[1] - 1) - offset
    cosine, sine = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))
    share = np.zeros(size)
    for dx, wx in zip(at / 2, weight / 2, strict=True):
        for dy, wy in zip(at / 2, weight / 2, strict=True):
            distance = (x + dx) * cosine - (y + dy) * sine
            if bow:
                radius = ((size[0] / 2) ** 2 + bow**2) / (2 * bow)
                along = (x + dx) * sine + (y + dy) * cosine
                distance = np.hypot(distance + radius - bow / 2, along) - radius
            share += wx * wy * shape.spread(distance)
    return dark + (light - dark) * share


def true_frequency(shape, angle_deg, target=0.5):
    """Cycles/pixel where the transfer, square pixel included, first meets the target."""
    cosine, sine = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))

    def excess(f):
        return shape.transfer(f) * np.sinc(f * cosine) * np.sinc(f * sine) - target

    grid = np.linspace(1e-4, 1.5, 15001)
    first = int(np.argmax(excess(grid) < 0))
    return brentq(excess, grid[first - 1], grid[first])


def bound(sigma, noise, angle_deg=5.0, size=(100, 100)):
    """Cramer-Rao bound of the relative standard deviation of MTF50, noise in steps."""

    def model(place, angle, width, left, step):
        shape = gaussian(width)
        return picture(shape, angle, size=size, offset=place, dark=left, light=left + step).ravel()

    start = np.array([0.3, angle_deg, sigma, 0.0, 1.0])
    columns = []
    for i, move in enumerate((1e-3, 1e-3, 1e-3 * sigma, 1e-3, 1e-3)):
        up, down = start.copy(), start.copy()
        up[i] += move
        down[i] -= move
        columns.append((model(*up) - model(*down)) / (2 * move))
    jacobian = np.column_stack(columns)
    width_error = noise * np.sqrt(np.linalg.inv(jacobian.T @ jacobian)[2, 2])
    nudge = 1e-3 * sigma
    change = true_frequency(gaussian(sigma + nudge), angle_deg) - true_frequency(
        gaussian(sigma - nudge), angle_deg
    )
    return width_error * abs(change) / (2 * nudge) / true_frequency(gaussian(sigma), angle_deg)


def bias(shape, angle_deg, *, transpose=False, target=0.5, **drawn):
    """Relative error of MTF50 (or of another crossing) on one noise-free edge."""
    region = picture(shape, angle_deg, **drawn)
    response = slanted_edge(region.T if transpose else region, 1.0)
    found = response.mtf50 if target == 0.5 else response.mtf10
    return found / true_frequency(shape, angle_deg, target) - 1.0


def deviation(sigma, noise, count, *, size=(100, 100), seed=1):
    """Mean error, standard deviation and share of intervals that hold, under white noise."""
    rng = np.random.default_rng(seed)
    clean = picture(gaussian(sigma), 5.0, size=size, nodes=12 if sigma < 1 else 6)
    truth = true_frequency(gaussian(sigma), 5.0)
    found, held = [], 0
    for _ in range(count):
        response = slanted_edge(clean + 0.6 * noise * rng.standard_normal(size), 1.0)
        found.append(response.mtf50 / truth - 1.0)
        held += response.mtf50_interval[0] <= truth <= response.mtf50_interval[1]
    return float(np.mean(found)), float(np.std(found)), held / count


def grainy(region, rng, *, strength, correlation, shot):
    """Add grain, correlated in both directions and strongest in the mid-tones, and shot noise."""
    grain = gaussian_filter(rng.standard_normal(region.shape), correlation, mode="wrap")
    grain *= 2.0 * np.sqrt(np.pi) * correlation
    tone = np.sqrt(np.clip(region * (1.05 - region), 0.02, None)) / 0.5
    return (
        region
        + strength * tone * grain
        + shot * np.sqrt(region) * rng.standard_normal(region.shape)
    )


def coverage(count, seed=7):
    """Share of 95 % intervals that hold, over edges that differ in everything, under grain."""
    rng = np.random.default_rng(seed)
    names = ("mtf50", "mtf10", "rise_um", "edge_angle_deg", "overshoot", "mtf curve")
    held = dict.fromkeys(names, 0.0)
    for _ in range(count):
        sigma, angle = float(np.exp(rng.uniform(np.log(1.2), np.log(7.0)))), rng.uniform(3.0, 10.0)
        dark, light = rng.uniform(0.1, 0.4), rng.uniform(0.6, 0.9)
        size = (int(rng.integers(120, 240)), 120)
        shape = gaussian(sigma)
        region = picture(
            shape, angle, size=size, offset=rng.uniform(-2, 2), dark=dark, light=light, nodes=3
        )
        if rng.random() < 0.5:
            region = region[:, ::-1]
            angle = -angle
        region = grainy(
            region,
            rng,
            strength=(light - dark) * rng.uniform(0.01, 0.1),
            correlation=rng.uniform(0.5, 2.5),
            shot=0.004,
        )
        response = slanted_edge(region.T if rng.random() < 0.5 else region, 1.0)
        cosine, sine = np.cos(np.radians(angle)), np.sin(np.radians(angle))
        f = response.frequency[2:101]
        curve = shape.transfer(f) * np.sinc(f * cosine) * np.sinc(f * sine)
        truth = {
            "mtf50": true_frequency(shape, angle),
            "mtf10": true_frequency(shape, angle, 0.1),
            "rise_um": 1000.0 * true_rise(sigma, angle),
            "edge_angle_deg": angle,
            "overshoot": 0.0,
        }
        for name, value in truth.items():
            low, high = getattr(response, f"{name}_interval")
            held[name] += low <= value <= high
        inside = (response.mtf_low[2:101] <= curve) & (curve <= response.mtf_high[2:101])
        held["mtf curve"] += float(inside.mean())
    return {name: value / count for name, value in held.items()}


def true_rise(sigma, angle_deg):
    """10-90 % distance in pixels of a Gaussian edge averaged over a square pixel."""
    at, weight = leggauss(8)
    cosine, sine = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))
    moved = 0.5 * (at[:, None] * cosine + at[None, :] * sine)
    weight = 0.25 * weight[:, None] * weight[None, :]

    def excess(d):
        return float((weight * ndtr((d + moved) / sigma)).sum()) - 0.9

    return 2.0 * brentq(excess, 0.0, 4.0 * sigma + 2.0)


def print_bias():
    angles, contrasts = (2.0, 3.0, 5.0, 8.0, 12.0, 15.0), (1.2, 4.0, 20.0)
    print("Bias of MTF50, noise-free Gaussian edges, 100 x 100 px, in %")
    print("  (worst over 2 to 15 degrees, contrast 1.2:1 to 20:1, both directions; aim 0.3)")
    for sigma in (0.35, 0.5, 0.7, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0):
        errors = [
            bias(
                gaussian(sigma),
                angle,
                transpose=bool(i % 2),
                dark=0.9 / contrasts[i % 3],
                light=0.9,
                nodes=16 if sigma < 0.8 else 6,
            )
            for i, angle in enumerate(angles)
        ]
        print(f"  sigma {sigma:5.2f} px   {100 * max(errors, key=abs):+7.3f}")
    print("The same with 5 px of bow (aim 0.5)")
    for sigma in (0.6, 1.0, 2.0, 4.0, 8.0):
        nodes = 12 if sigma < 1 else 6
        errors = [bias(gaussian(sigma), a, bow=5.0, nodes=nodes) for a in (3.0, 5.0, 10.0)]
        print(f"  sigma {sigma:5.2f} px   {100 * max(errors, key=abs):+7.3f}")
    print("Edges of other shapes, core of 1, 2 and 4 px (aim 0.5): MTF50, MTF10")
    for make in OTHER_SHAPES:
        for core in (1.0, 2.0, 4.0):
            shape, half = make(core)
            drawn = {"size": (100, int(2 * half)), "nodes": 8}
            errors = [bias(shape, 5.0, target=t, **drawn) for t in (0.5, 0.1)]
            figures = "  ".join(f"{100 * error:+7.3f}" for error in errors)
            print(f"  {shape.name:24s} {core:3.0f} px   {figures}")


OTHER_SHAPES = (
    lambda s: (core_with_tails(s), max(50, 17 * s)),
    lambda s: (defocus_disc(2 * s), 50),
    lambda s: (two_steps(s, 4 * s), 50),
    lambda s: (two_steps(s, 6 * s), 50),
    lambda s: (two_steps(s, 8 * s, first=0.3), 50),
    lambda s: (one_sided(s, 3 * s), max(50, 26 * s)),
)


def print_deviation(count):
    print(f"\nWhite noise, 100 x 100 px, 5 degrees, {count} edges each, MTF50 in %")
    print("  sigma  noise    bias  deviation   bound  ratio (aim 1.5)  intervals that hold")
    for sigma in (0.6, 1.0, 2.0, 4.0, 8.0):
        for noise in (0.005, 0.01, 0.02, 0.05):
            mean, spread, held = deviation(sigma, noise, count)
            least = bound(sigma, noise)
            print(
                f"  {sigma:5.2f}  {100 * noise:4.1f} {100 * mean:+8.3f} {100 * spread:9.3f} "
                f"{100 * least:9.3f} {spread / least:6.2f} {100 * held:20.1f}"
            )
    print(
        "\nAgainst the plain standard procedure, 80 x 100 px: deviation in %, its figure after it"
    )
    for sigma, plain in PLAIN_DEVIATION.items():
        row = [deviation(sigma, n, count, size=(80, 100))[1] for n in (0.01, 0.02, 0.05)]
        pairs = "   ".join(f"{100 * a:5.2f} ({b:3.1f})" for a, b in zip(row, plain, strict=True))
        print(f"  sigma {sigma:4.1f}   {pairs}")


def print_coverage(count):
    print(f"\nIntervals that hold, {count} edges under grain (aim 92 to 98), in %")
    for name, share in coverage(count).items():
        print(f"  {name:16s} {100 * share:6.1f}")


if __name__ == "__main__":
    started = time.perf_counter()
    print_bias()
    print_deviation(200)
    print_coverage(500)
    print(f"\n{time.perf_counter() - started:.0f} s")
