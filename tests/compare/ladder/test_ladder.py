"""Ladders of simulated prints: plateau, enough, values that stand out."""

import json

import numpy as np
import pytest
from compare.invented import saturating_ladder, shot
from scipy.optimize import brentq

from dotloupe.compare.cautions import (
    LowestIsEnough,
    OnePrintEachPpi,
    OtherPpiInCode,
    StillRising,
    TooFewForOutstanding,
    TooFewForTrend,
)
from dotloupe.compare.ladder.all_criteria import ladder
from dotloupe.compare.ladder.outstanding import departures
from dotloupe.compare.ladder.saturation import fit_saturation
from dotloupe.errors import InputError, NotFitError
from dotloupe.measurement import Measurement
from dotloupe.number import CRITERIA, Number

SEVEN = np.array([240.0, 300, 360, 450, 600, 720, 1200])
PRINT_SPREAD = 0.01


def cascade(ppi, *, raster, printer_mtf50, redraw):
    """MTF50 of a file drawn by area at `ppi`, redrawn by the driver on its raster, then blurred.

    Closed forms of the parts: pixel apertures sinc(f/ppi), one for the drawing and, for the
    driver's redrawing, one for the nearest pixel and two for linear; sinc(f/raster) for the
    raster; a Gaussian for the dots.
    """
    sigma = 0.18739 / printer_mtf50
    pixels, cells = ppi / 25.4, raster / 25.4

    def over_half(f):
        file = np.sinc(f / pixels) ** (1 + redraw) * np.sinc(f / cells)
        return file * np.exp(-2 * (np.pi * sigma * f) ** 2) - 0.5

    frequency = np.linspace(0.01, 40, 4000)
    first = int(np.argmax(over_half(frequency) < 0))
    return brentq(over_half, frequency[first - 1], frequency[first])


SMOOTH = {
    "raster 600, nearest pixel": lambda p: cascade(p, raster=600, printer_mtf50=5, redraw=1),
    "raster 720, linear": lambda p: cascade(p, raster=720, printer_mtf50=5, redraw=2),
    "raster 720, fine dots": lambda p: cascade(p, raster=720, printer_mtf50=6.5, redraw=1),
    "exponential": lambda p: 5 * (1 - np.exp(-p / 200)),
    "hyperbolic": lambda p: 5 * np.tanh(p / 400),
    "flat": lambda _p: 5.0,
}


def points(shape, ppi, rng, prints=3):
    """Logarithm of the mean of simulated prints, its pooled standard error, degrees of freedom."""
    true = np.log([SMOOTH[shape](p) for p in ppi])
    seen = true[:, None] + rng.normal(0, PRINT_SPREAD, (len(ppi), prints))
    pooled = np.sqrt(seen.var(axis=1, ddof=1).mean() / prints)
    return seen.mean(axis=1), np.full(len(ppi), pooled), len(ppi) * (prints - 1.0)


def measurement(ppi, print_id, values, error=PRINT_SPREAD, coded_ppi=None):
    numbers = {
        c: Number(v, v * (1 - 1.96 * error), v * (1 + 1.96 * error), CRITERIA[c].unit)
        for c, v in values.items()
    }
    name = f"{ppi:g}-{print_id}"
    return Measurement(
        f"{name}.tif", name, str(print_id), 1, coded_ppi or ppi, True, (), (), numbers
    )


def simulated(ppi, rng, *, prints=3, knee=300.0, **factors):
    def at(p):
        detail = 5 * (1 + (knee / p) ** 2) ** -0.5 * factors.get(f"at_{p:g}", 1.0)
        noise = 1 + PRINT_SPREAD * rng.standard_normal(3)
        return {"detail_x": detail * noise[0], "detail_y": 0.9 * detail * noise[1],
                "grain": 0.8 * noise[2]}  # fmt: skip

    return {p: [measurement(p, i, at(p)) for i in range(prints)] for p in ppi}


def test_pinned_fields_and_json():
    found = ladder(simulated(SEVEN[::-1], np.random.default_rng(1)))
    assert found.sent_ppi.tolist() == SEVEN.tolist()
    assert found.detail.shape == (7,)
    assert found.interval.shape == (7, 2)
    plain = json.loads(json.dumps(found.to_dict(), allow_nan=False))
    assert {"sent_ppi", "value", "low", "high"} <= set(plain["points"][0])
    assert plain["enough_ppi"] == found.enough_ppi
    assert plain["outstanding"] == []
    # sent ppi / 25.4 / 2, the table of Nyquist frequencies of sent images
    assert [round(p["nyquist"], 2) for p in plain["points"]] == [
        4.72, 5.91, 7.09, 8.86, 11.81, 14.17, 23.62,
    ]  # fmt: skip
    assert set(plain["criteria"]) == {"detail_x", "detail_y", "grain"}
    assert {c["better"] for c in plain["criteria"].values()} == {"higher", "lower"}
    shots = [shot for group in plain["captures"].values() for shot in group]
    assert all(set(shot) == {"path", "sha256", "print", "run"} for shot in shots)


def test_enough_is_the_least_ppi_sent_within_the_share_of_the_plateau():
    # quadrature: 95 % of the plateau at knee / sqrt(0.95^-2 - 1) = 3.04 knees
    found = ladder(simulated(SEVEN, np.random.default_rng(2), knee=150.0))
    rise = found.leading.rise
    assert rise.crossing_interval[0] < 150 * 3.042 < rise.crossing_interval[1]
    assert rise.plateau_interval[0] < 5 < rise.plateau_interval[1]
    assert found.enough_ppi == 450 or rise.crossing_ppi > 450
    assert found.enough_ppi <= rise.enough_for_sure_ppi


def test_still_rising_is_not_enough():
    found = ladder(simulated([150.0, 180, 200, 240, 300], np.random.default_rng(3), knee=400.0))
    assert found.enough_ppi is None
    assert StillRising() in found.leading.cautions


def test_one_print_a_ppi_and_few_ppi_still_work():
    rng = np.random.default_rng(4)
    single = ladder(simulated(SEVEN[:5], rng, prints=1))
    assert single.leading.rise is not None
    # 1.96 standard errors of the photographs' own interval, 1 %
    assert single.interval[0, 1] / single.detail[0] == pytest.approx(np.exp(0.0196), rel=1e-3)
    assert OnePrintEachPpi() in single.leading.cautions
    three = ladder(simulated(SEVEN[:3], rng))
    assert three.enough_ppi is None
    assert three.outstanding == ()
    assert TooFewForTrend() in three.leading.cautions


def test_a_planted_special_value_is_named_and_left_out_of_the_trend():
    found = ladder(simulated(SEVEN, np.random.default_rng(5), at_450=1.06))
    assert found.outstanding == (450.0,)
    departure = next(d for d in found.leading.departures if d.sent_ppi == 450)
    assert departure.low < 6 < departure.high
    assert found.to_dict()["outstanding"] == [450.0]


def test_a_code_that_contradicts_is_named():
    rungs = simulated([300.0, 600], np.random.default_rng(6))
    rungs[300.0].append(measurement(300.0, 9, {"detail_x": 3.5}, coded_ppi=360.0))
    assert any(isinstance(c, OtherPpiInCode) and c.code_ppi == 360 for c in ladder(rungs).cautions)


def test_refusals():
    rungs = simulated([300.0, 600], np.random.default_rng(7))
    with pytest.raises(InputError, match="at least 2"):
        ladder({300.0: rungs[300.0]})
    with pytest.raises(InputError, match="sent ppi 'fast'"):
        ladder({"fast": rungs[300.0], 600.0: rungs[600.0]})
    with pytest.raises(InputError, match="unknown"):
        ladder(rungs, criterion="colour")
    with pytest.raises(NotFitError, match="line_pairs_x"):
        ladder(rungs, criterion="line_pairs_x")


def flags(shape, trials, rng, planted=None, ppi=SEVEN, prints=3):
    """Ladders with a flag, ladders whose only flag is the planted one, of `trials`."""
    any_flag = right = 0
    for _ in range(trials):
        values, errors, degrees = points(shape, ppi, rng, prints)
        at = -1
        if planted:
            at = int(rng.integers(1, len(ppi) - 1))
            values[at] += np.log(planted)
        looked_at = departures(ppi, values, errors, degrees)
        flagged = [i for i, d in enumerate(looked_at) if d.outstanding]
        any_flag += bool(flagged)
        right += flagged == [at] and (looked_at[at].percent > 0) == (planted > 1)
    return any_flag, right


@pytest.mark.parametrize("shape", SMOOTH)
def test_smooth_ladders_are_rarely_flagged_and_planted_values_are(shape):
    trials = 20
    rng = np.random.default_rng(30)
    false, _ = flags(shape, trials, rng)
    _, right = flags(shape, trials, rng, planted=1.05)
    print(f"{shape}: {false} of {trials} smooth flagged, {right} of {trials} planted +5 % named")
    # 5 % of 20 with a margin for so few; 90 % of 20
    assert false <= 2
    assert right >= 18


@pytest.mark.slow
@pytest.mark.parametrize("shape", SMOOTH)
def test_hundred_smooth_and_hundred_planted_ladders(shape):
    rng = np.random.default_rng(31)
    false, _ = flags(shape, 100, rng)
    _, raised = flags(shape, 100, rng, planted=1.05)
    _, lowered = flags(shape, 100, rng, planted=0.95)
    print(f"{shape}: flagged {false} of 100 smooth; named {raised} of +5 %, {lowered} of -5 %")
    assert false <= 5
    assert raised >= 90
    assert lowered >= 90


@pytest.mark.slow
@pytest.mark.parametrize("shape", SMOOTH)
def test_plateau_lies_in_its_interval(shape):
    rng = np.random.default_rng(32)
    true = SMOOTH[shape](1e6)
    inside = 0
    for _ in range(100):
        saturation = fit_saturation(SEVEN, *points(shape, SEVEN, rng))
        low, high = saturation.plateau()[1]
        inside += low <= true <= high
    print(f"{shape}: plateau within its 95 % interval in {inside} of 100")
    # 95 less three standard errors of 2.2
    assert inside >= 88


def test_four_ppi_draw_a_trend_and_test_none():
    found = saturating_ladder([240.0, 360, 600, 1200], 150.0)
    assert set(found.criteria) == {"detail_x"}  # of no grain there is no share to tell
    assert found.leading.cautions[1:] == (TooFewForOutstanding(),)


def test_a_lowest_ppi_that_is_enough_asks_for_lower_ones():
    found = saturating_ladder([600.0, 720, 900, 1200, 2400], 60.0)
    assert found.enough_ppi == 600
    assert found.leading.cautions[1:] == (LowestIsEnough(),)


def test_a_ladder_that_cannot_be_climbed():
    with pytest.raises(InputError) as caught:
        saturating_ladder([300.0, 600], 100.0, share=0.4)
    assert str(caught.value) == "share 0.4: give one from 0.5 to below 1"
    one = [shot("a", {"detail_x": 4.0})]
    with pytest.raises(InputError) as caught:
        ladder({"300": one, 300.0: one})
    assert str(caught.value) == "sent ppi 300 is given twice: put its captures together"
