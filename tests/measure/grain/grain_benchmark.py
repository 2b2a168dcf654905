"""Tables of what grain measures on simulated fields of known truth.

Run as a script: python tests/measure/grain/grain_benchmark.py [TABLE...]; without names, all of
them (some minutes). Every field is simulated from a closed form; nothing here is a photograph.
"""

from __future__ import annotations

import itertools
import sys
import time

import numpy as np
from test_banding import PIXELS_PER_MM as BAND_SAMPLING, banded
from test_grain_study import SPECTRA, coloured, scores_of
from test_noise_spectrum import disc_area_px, disc_spectrum, random_discs

from dotloupe.measure.grain.banding import find_banding
from dotloupe.measure.grain.noise_spectrum import detrended, noise_spectrum
from dotloupe.measure.grain.ring_spectrum import integrate, radial_mean
from dotloupe.measure.grain.scores import rms_granularity
from dotloupe.measure.grain.tint_grain import grain

SEEDS = 6


def discs():
    """Level, integral and first zero of random discs against the Boolean model's closed form."""
    radius, side = 4.0, 1300
    diameter = 2 * np.sqrt(disc_area_px(radius) / np.pi)
    print("random discs: p, W(0)/a closed form, level / closed form, integral / p(1-p)")
    print(f"  mean of {SEEDS} fields of {side / diameter:.0f} diameters a side (spread of one)")
    for coverage in (0.1, 0.2, 0.3, 0.5, 0.7):
        levels, integrals = [], []
        for seed in range(SEEDS):
            field = random_discs(coverage, radius, side, [seed, 40])
            rings = noise_spectrum(field, 1.0).rings
            low = rings.frequency < 0.6 / diameter
            truth = disc_spectrum(coverage, rings.frequency[low] * diameter) * diameter**2
            area = rings.area[low]
            levels.append(np.sum(area * rings.power[low]) / np.sum(area * truth))
            integrals.append(integrate(rings).value / (coverage * (1 - coverage)))
        level_at_zero = disc_spectrum(coverage, [0.0])[0] / (np.pi / 4)
        print(
            f"  {coverage:.1f}  {level_at_zero:.4f}  {np.mean(levels):.4f} ({np.std(levels):.4f})"
            f"  {np.mean(integrals):.4f} ({np.std(integrals):.4f})"
        )
    zeros = []
    for seed in range(SEEDS):
        field = random_discs(0.05, 15.0, 900, seed=[seed, 41], average=4)
        radial = radial_mean(noise_spectrum(field, 250.0).rings)
        zero = 1.2197 / 0.030
        near = np.abs(radial.frequency / zero - 1) < 0.08
        curve = np.polyfit(radial.frequency[near] / zero - 1, radial.power[near], 2)
        zeros.append(zero * (1 - curve[1] / (2 * curve[0])))
    print(f"  first zero of 30 um discs: 40.66 closed form, {np.mean(zeros):.2f} cycles/mm")


def selwyn():
    """Deviation times the root of the aperture's area, for white grain."""
    print("Selwyn: aperture um, sigma sqrt(A) over the root of the noise power")
    scales = ((1016, 80.0, (140, 200)), (1000, 250.0, (50, 100)), (1000, 1000.0, (20, 30)))
    for side, pixels_per_mm, apertures in scales:
        rings = []
        for seed in range(SEEDS):
            noise = np.random.default_rng([seed, 42]).standard_normal((side, side))
            rings.append(noise_spectrum((0.5 + 0.05 * noise).astype("f4"), pixels_per_mm).rings)
        for aperture in apertures:
            area = np.pi * (aperture / 2000) ** 2
            got = np.mean([rms_granularity(r, 0.5, aperture).value for r in rings])
            expected = 1000 / np.log(10) / 0.5 * 0.05 / pixels_per_mm
            print(f"  {aperture:4d}  {got * np.sqrt(area) / expected:.4f}")


def ripples():
    """Where ripples land, and what leaks across 0.4 cycles/mm."""
    print("ripples of 1 % on 12.7 mm: cycles/mm, angle, mottle and graininess over the amplitude")
    pixels_per_mm, n = 30.0, 381
    y, x = np.mgrid[:n, :n] / pixels_per_mm
    amplitude = 0.01 / np.sqrt(2) / np.log(10) / 0.5
    for ripple in (0.2, 2.0):
        for angle in (0, 90, 45):
            worst = np.zeros(2)
            for phase in range(4):
                along = x * np.cos(np.radians(angle)) + y * np.sin(np.radians(angle))
                field = 0.5 + 0.01 * np.sin(2 * np.pi * ripple * along + phase)
                result = grain(field, pixels_per_mm)
                scores = np.array([result.mottle, result.graininess]) / amplitude
                worst = np.maximum(worst, scores)
            print(f"  {ripple:.1f}  {angle:2d}  {worst[0]:.4f}  {worst[1]:.4f}")


def shots(fields=20, side_mm=12.7, pixels_per_mm=100.0):
    """Two shots with camera noise of five times the print's power, by octaves."""
    print("two shots, camera noise of 5 times the print's variance: spectrum / print's own")
    edges = np.array([0.4, 0.8, 1.6, 3.2, 6.4, 10])
    shape = SPECTRA["gauss"]
    side = round(side_mm * pixels_per_mm)
    got, own = np.zeros(edges.size - 1), np.zeros(edges.size - 1)
    for seed in range(fields):
        rng = np.random.default_rng([seed, 43])
        field = coloured(rng, side, pixels_per_mm, shape, around=1).astype("f4")
        deviation = np.sqrt(5 * field.var())
        one, two = (
            0.5 + field + deviation * rng.standard_normal(field.shape, dtype="f4") for _ in range(2)
        )
        pair = grain(one, pixels_per_mm, second_shot=two)
        alone = radial_mean(noise_spectrum(field, pixels_per_mm).rings)
        for i, (low, high) in enumerate(itertools.pairwise(edges)):
            for sums, frequency, power in (
                (got, pair.frequency, pair.noise_power),
                (own, alone.frequency, alone.power),
            ):
                band = (frequency >= low) & (frequency < high)
                sums[i] += np.average(power[band], weights=frequency[band])
    for (low, high), ratio in zip(itertools.pairwise(edges), got / own, strict=True):
        print(f"  {low:4.1f} to {high:4.1f} cycles/mm  {ratio:.4f}")


def bands():
    """Periods, strengths and false alarms of banding at a fifth of the grain's deviation."""
    print("banding on 12.7 mm: period mm, angle, found / 10, mean and worst period / true")
    for period, angle in ((5, 0), (2.4, 90), (1.27, 91), (0.5, -1), (0.2, 90), (0.5, 45)):
        periods = []
        for seed in range(10):
            field = banded(period, angle, seed=seed, amplitude=0.004)
            found = find_banding(detrended(field), BAND_SAMPLING).bands
            periods += [found[0].period_mm / period] if found else []
        off = max(abs(p - 1) for p in periods)
        print(f"  {period:4.2f}  {angle:3d}  {len(periods):2d}  {np.mean(periods):.5f}  {off:.5f}")


def coverage(fields=120):
    """Share of 95 % intervals that hold the truth, on coloured noise and on few discs."""
    print(f"coverage of 95 % intervals, {fields} fields each")
    for name in SPECTRA:
        for side_mm in (2.54, 5.0):
            # the steep spectrum drowns in camera noise of its own level: no match, so refused
            for camera in (0.0,) if name == "steep" else (0.0, 1.0):
                report = scores_of(name, side_mm, fields, camera_power=camera)
                shots = "two shots" if camera else "one shot"
                print(f"  {name:6s} {side_mm:5.2f} mm  {shots:9s}", end="")
                print("".join(f"  {score} {share:.3f}" for score, share in report.items()))


TABLES = {f.__name__: f for f in (discs, selwyn, ripples, shots, bands, coverage)}


def main():
    for name in sys.argv[1:] or TABLES:
        start = time.perf_counter()
        TABLES[name]()
        print(f"  ({time.perf_counter() - start:.0f} s)\n", flush=True)


if __name__ == "__main__":
    main()
