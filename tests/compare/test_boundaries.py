"""Rules at their boundaries: dark colours, octaves at the ends, short baselines, odd weights."""

import numpy as np
import pytest
from scipy.integrate import quad
from skimage.color import xyz2lab

from dotloupe.compare.correction import corrections
from dotloupe.compare.history.printer_history import History
from dotloupe.compare.ladder.all_criteria import ladder
from dotloupe.compare.ranking.overall import checked_weights
from dotloupe.compare.ranking.ranking import rank
from dotloupe.compare.visibility import visible_steps as visible
from dotloupe.compare.visibility.eye_model import FREQUENCIES, octave_rms
from dotloupe.compare.visibility.picture_difference import XYZ_OF_LINEAR_SRGB, picture_difference
from dotloupe.errors import InputError
from dotloupe.measure.seeing import dooley_shaw_transfer
from dotloupe.measurement import Measurement
from dotloupe.number import CRITERIA, Number
from dotloupe.report.text.cautions import caution_texts
from dotloupe.report.text.corrections import correction_line


def shot(name, detail, *, low=0.01, sent_ppi=None, fit=True, reasons=(), sha256=None):
    number = Number(detail, (1 - low) * detail, (1 + low) * detail, CRITERIA["detail_x"].unit)
    numbers = {"detail_x": number} if fit else {}
    sha256 = name if sha256 is None else sha256
    return Measurement(f"{name}.jpg", sha256, name, 1, sent_ppi, fit, reasons, (), numbers)


@pytest.mark.parametrize("second", [(0.05, 0.002, 0.3), (0.002, 0.006, 0.004)])
def test_dark_colours_differ_as_the_reference_library_says(second):
    """Below a luminance factor of 0.008856 lightness is a straight line (CIE 15)."""
    first, second = np.array([0.004, 0.003, 0.002]), np.array(second)
    white = XYZ_OF_LINEAR_SRGB @ np.ones(3)
    d65 = np.array([0.95047, 1.0, 1.08883])
    lab = [xyz2lab(XYZ_OF_LINEAR_SRGB @ rgb / white * d65) for rgb in (first, second)]
    even = [np.broadcast_to(rgb, (40, 50, 3)).copy() for rgb in (first, second)]
    found = picture_difference(*even, 20.0, 400)
    assert found == pytest.approx(np.linalg.norm(lab[0] - lab[1]), rel=1e-3)


def test_grain_of_a_figure_is_white_noise_that_the_eye_sees_as_much_of():
    """G^2 = P 2 pi int f V(f)^2 df behind the eye, and an octave of P holds 3/2 pi f^2 P."""
    number = Number(0.8, 0.7, 0.9, "L* rms")
    made = Measurement("a.jpg", "a", "a", 1, 600.0, True, (), (), {"grain": number})
    distance = 400.0
    per_degree = distance * np.pi / 180
    area = quad(lambda f: f * dooley_shaw_transfer(f) ** 2, 0, 60)[0] / per_degree**2
    slope = 116 / 3 * visible.MID_TINT ** (-2 / 3)  # of CIE lightness
    power = 0.8**2 / (2 * np.pi * area) / (slope * visible.MID_TINT) ** 2
    found = visible._even_noise([made], distance)
    inside = FREQUENCIES < 20
    expected = np.sqrt(1.5 * np.pi * power) * FREQUENCIES
    assert found[inside] == pytest.approx(expected[inside], rel=3e-3)
    # white noise of power 1 takes the same sums over octaves: what is left is the power alone
    white = octave_rms(FREQUENCIES, np.ones_like(FREQUENCIES))
    assert found / white == pytest.approx(np.full_like(white, np.sqrt(power)), rel=1e-4)


def test_single_prints_without_intervals_cannot_be_told_apart():
    alone = {s: [shot(s, v, low=np.nan)] for s, v in (("a", 4.0), ("b", 5.0))}
    ranking = rank(alone)
    told = "some values have no interval and no repeat: they cannot be told apart"
    assert told in caution_texts(ranking.criteria["detail_x"].cautions)


def test_octaves_of_a_flat_spectrum_hold_at_both_ends():
    """White noise of power 1: the variance in an octave is pi (2 f^2 - f^2 / 2)."""
    wide = np.array([1e-3, 1e3])
    expected = np.sqrt(1.5 * np.pi) * FREQUENCIES
    assert octave_rms(wide, np.ones(2)) == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize("wrong", [-1.0, np.nan, np.inf])
def test_weights_are_numbers_of_0_or_more(wrong):
    with pytest.raises(InputError, match="weights must be 0 or more"):
        checked_weights({"detail_x": 1.0, "grain": wrong})
    assert checked_weights({"detail_x": 1.0, "grain": 0.0}) == {"detail_x": 1.0}


def test_one_sent_ppi_is_no_caution_and_two_are():
    rng = np.random.default_rng(3)

    def prints(setting, ppis):
        return [
            shot(f"{setting}{i}", 4 + 0.1 * rng.standard_normal(), sent_ppi=ppi)
            for i, ppi in enumerate(ppis)
        ]

    even = rank({"a": prints("a", (600.0,) * 3), "b": prints("b", (720.0,) * 3)})
    assert not [c for c in caution_texts(even.cautions) if "sent ppi" in c]
    mixed = rank({"a": prints("c", (600.0, 720.0, 600.0)), "b": prints("d", (720.0,) * 3)})
    assert [c for c in caution_texts(mixed.cautions) if "setting a" in c and "(600, 720)" in c]


def test_a_ladders_corrections_say_what_changed_in_words():
    def climbed(knee):
        ppi = [150.0, 240, 300, 600, 1200]
        value = {p: 5 * (1 + (knee / p) ** 2) ** -0.5 for p in ppi}
        return ladder({p: [shot(f"{p}", value[p])] for p in ppi}).to_dict()

    published = climbed(60)
    assert [c["print"] for c in published["captures"]["150"]] == ["150.0"]
    del published["criterion"]  # as the first versions wrote it
    found = corrections(published, climbed(120))
    enough = next(c for c in found if c.kind == "enough")
    was, now = published["enough_ppi"], climbed(120)["enough_ppi"]
    assert (
        correction_line(enough) == f"detail_x: enough was published as {was:g} ppi, now {now:g} ppi"
    )


NAMED = {"printer": "p", "paper": "q", "mode": "m"}


@pytest.mark.parametrize(("count", "short"), [(7, True), (8, False)])
def test_a_baseline_is_short_below_eight_prints(tmp_path, count, short):
    history = History(tmp_path / "h.sqlite")
    for i in range(count):
        value = 4 + 0.05 * ((i * 7) % 5)
        history.add(shot(f"a{i}", value), printed_on=f"2026-03-{i + 1:02d}", **NAMED)
    for i in range(2):
        history.add(shot(f"b{i}", 4.1), printed_on=f"2026-04-{i + 1:02d}", **NAMED)
    march = ("2026-03-01", "2026-03-31")
    cautions = caution_texts(history.track("detail_x", baseline=march).cautions)
    assert any("a short baseline" in c for c in cautions) is short


def test_a_history_keeps_what_was_sent_and_says_why_it_takes_no_unread_file(tmp_path):
    history = History(tmp_path / "h.sqlite")
    history.add(shot("a", 4.0, sent_ppi=720.0), printed_on="2026-03-12", **NAMED)
    history.export(tmp_path)
    rows = (tmp_path / "results.csv").read_text().splitlines()
    assert dict(zip(rows[0].split(","), rows[1].split(","), strict=True))["sent_ppi"] == "720.0"
    torn = shot("b", 4.0, fit=False, reasons=("cut short",), sha256="")
    with pytest.raises(InputError, match=r"b.jpg: cannot be kept \(cut short\)"):
        history.add(torn, printed_on="2026-03-12", **NAMED)


def test_the_overall_error_of_a_print_is_that_of_a_weighted_sum():
    """Independent errors add by squares: hypot of each weight times its error in visible steps."""
    numbers = {
        "detail_x": Number(4.0, 3.9, 4.1, "cycles/mm"),
        "detail_y": Number(4.2, 3.8, 4.6, "cycles/mm"),
    }
    made = {
        name: [Measurement(f"{name}.jpg", name, name, 1, 600.0, True, (), (), numbers)]
        for name in ("a", "b")
    }
    found = rank(made, weights={"detail_x": 0.25, "detail_y": 0.75})
    steps = [
        (found.scales[name].at_viewing(n.high) - found.scales[name].at_viewing(n.low)) / 2
        for name, n in numbers.items()
    ]
    expected = np.hypot(0.25 * steps[0], 0.75 * steps[1]) / 1.959964
    (of_print,) = found.criteria["overall"].places[0].prints
    assert of_print.standard_error == pytest.approx(expected, rel=1e-6)
