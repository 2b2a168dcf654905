"""Short baselines, and what a history holds of a capture."""

import math

import pytest

from dotloupe.compare.history.printer_history import History
from dotloupe.errors import InputError
from dotloupe.measurement import Measurement
from dotloupe.number import CRITERIA, Number
from dotloupe.report.text.cautions import caution_texts


def shot(name, detail, *, low=0.01, sent_ppi=None, fit=True, reasons=(), sha256=None):
    number = Number(detail, (1 - low) * detail, (1 + low) * detail, CRITERIA["detail_x"].unit)
    numbers = {"detail_x": number} if fit else {}
    sha256 = name if sha256 is None else sha256
    return Measurement(f"{name}.jpg", sha256, name, 1, sent_ppi, fit, reasons, (), numbers)


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


def test_prints_too_few_and_unlike_to_bound_anything_have_no_upper_limit(tmp_path):
    """Logarithms 138 apart: Student's t on two degrees puts the limit beyond what a float holds."""
    history = History(tmp_path / "h.sqlite")
    for day, values in (("2026-03-01", (1e-30, 1e30)), ("2026-04-01", (0.5, 2.0))):
        for value in values:
            history.add(shot(f"{day} {value}", value), printed_on=day, **NAMED)
    (baseline, *_) = history.track("detail_x").baselines
    assert baseline.upper == math.inf
