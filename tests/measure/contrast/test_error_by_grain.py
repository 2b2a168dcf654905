"""Intervals and detection of gratings in coloured grain, by simulation of known noise."""

import numpy as np
import pytest
from measure.contrast.coloured_grain import CELL_MM, PLAIN_MM, cell_of, coloured_field, places
from scipy.stats import nct, t as student

from dotloupe.measure.contrast import (
    FALSE_RATE,
    border_index,
    field_shift_mm,
    fit_grating,
    grain_power,
    missed_rate,
    one_grating,
    survival,
)

FREQUENCIES = (2.0, 4.0, 8.0)
DEVIATION, GRATINGS = 0.12, 500


@pytest.fixture(scope="module")
def field():
    return coloured_field(30.0, DEVIATION, 5)


def gratings(field, amplitude, count, rng, frequencies=FREQUENCIES):
    """Gratings of three frequencies in turn, each with plain tint of its own."""
    along, _ = places(CELL_MM)
    for k in range(count):
        frequency = frequencies[k % len(frequencies)]
        wave = amplitude * np.sin(2 * np.pi * frequency * along)
        fits = [
            fit_grating(cell_of(field, CELL_MM, rng, wave), frequency, size_mm=CELL_MM)
            for _ in range(2)
        ]
        plain = [cell_of(field, PLAIN_MM, rng) for _ in range(2)]
        grain = grain_power(plain, frequency, size_mm=CELL_MM, cell_mm=PLAIN_MM)
        yield one_grating(
            fits, (0.0, 0.0), grain, frequency=frequency, modulation=0.1, sent=0.04, plain=0.4
        )


def test_intervals_hold_in_92_to_98_of_100(field):
    """500 gratings in coloured grain."""
    rng = np.random.default_rng(2)
    found = list(gratings(field, 0.03, GRATINGS, rng))
    held = [low <= 0.03 / 0.04 <= high for low, high in (g.response_interval for g in found)]
    print(f"\nintervals hold in {100 * np.mean(held):.1f} % of {GRATINGS} gratings")
    assert 0.92 <= np.mean(held) <= 0.98


def test_false_and_missed_are_at_the_stated_rates(field):
    """Within 3 standard deviations of chance.

    Missed is what lies under Student's quantile, of an amplitude over a deviation that is itself
    an estimate: the noncentral t, as SciPy has it. The deviation is that of 300 empty cells.
    """
    rng = np.random.default_rng(3)
    empty = list(gratings(field, 0.0, 900, rng))
    false = np.mean([g.stands_out for g in empty])
    print(f"\nfalse at {100 * false:.2f} % of {len(empty)} empty cells")
    assert false == pytest.approx(FALSE_RATE, abs=3 * np.sqrt(FALSE_RATE * 0.99 / len(empty)))
    for frequency in FREQUENCIES:
        deviation = np.std([g.amplitude for g in empty if g.frequency == frequency])
        present = list(gratings(field, 3.0 * deviation, 150, rng, (frequency,)))
        missed = 1 - np.mean([g.stands_out for g in present])
        degrees = present[0].uncertainty.degrees
        stated = nct.cdf(student.isf(FALSE_RATE, degrees), degrees, 3.0)
        print(f"{frequency:g} lp/mm: missed {missed:.3f}, stated {stated:.3f}")
        assert missed == pytest.approx(stated, abs=3 * np.sqrt(stated * (1 - stated) / 150))


def test_the_border_lies_where_half_is_missed(outside_check):
    source = "table of the normal distribution"
    claim = "index of detection at the border, 1 % false"
    outside_check(claim, source, 2.3263, border_index(), abs=1e-4)
    missed = [missed_rate(factor * border_index()) for factor in (0, 1, 2)]
    claim = "share missed at none, once and twice the border's index"
    outside_check(claim, source, [0.99, 0.5, 0.01], missed, abs=1e-9)


def test_shift_of_a_field_is_found_by_all_its_gratings(field):
    rng = np.random.default_rng(4)
    along, _ = places(CELL_MM)
    frequencies = np.array([2.0, 4.0, 5.66, 8.0])
    fits = []
    for frequency in frequencies:
        wave = 0.3 * np.sin(2 * np.pi * frequency * (along - 0.005))
        fits.append(fit_grating(cell_of(field, CELL_MM, rng, wave), frequency, size_mm=CELL_MM))
    assert field_shift_mm(fits, frequencies, np.full(4, 0.3)) == pytest.approx(0.005, abs=0.002)


def series(amplitudes, error=0.002, degrees=20.0):
    from dotloupe.measure import Uncertainty
    from dotloupe.measure.contrast import Grating

    return [
        Grating(2.0 * 2 ** (k / 2), 0.1, 0.04, a, Uncertainty(error, degrees), 0.0, 0.4, 0.4)
        for k, a in enumerate(amplitudes)
    ]


def test_survival_ends_by_grain_by_contrast_by_the_file_or_not_at_all():
    by_grain = survival(series([0.04, 0.03, 0.006, 0.003, 0.0], error=0.002))
    assert by_grain.ended_by == "grain"
    assert 4.0 < by_grain.limit < 5.66
    assert by_grain.interval[0] < by_grain.limit < by_grain.interval[1]
    by_contrast = survival(series([0.04, 0.03, 0.006, 0.003, 0.0], error=0.0002))
    assert by_contrast.ended_by == "contrast"
    assert by_contrast.limit > by_grain.limit
    whole = survival(series([0.04, 0.04, 0.03, 0.03, 0.02]))
    assert (whole.ended_by, whole.limit, whole.interval[1]) == ("gratings", 8.0, np.inf)
    lost = survival(series([0.001, 0.0, 0.001, 0.0, 0.0]))
    assert (lost.ended_by, lost.limit) == ("nothing survives", None)


def test_one_unlucky_cell_ends_nothing():
    assert survival(series([0.004, 0.03, 0.03, 0.03, 0.0])).limit > 5
