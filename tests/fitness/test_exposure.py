"""Findings by the pixels alone, each at a known size."""

import numpy as np
import pytest
from scipy.stats import norm

from dotloupe.capture.capture import Capture
from dotloupe.capture.mosaic import pedestal_curve
from dotloupe.capture.tone import tone_curve
from dotloupe.fitness.exposure import COMPRESSION, frame_findings, pixel_findings
from dotloupe.fitness.finding import Fault, FaultLimits, Finding, Symptom
from dotloupe.report.text.fitness_warnings import finding_text

WHOLE = slice(None), slice(None)
CURVE = tone_curve(None, 256)[0]


def capture_of(pixels, curve=CURVE, paper=None, steps=()):
    level = curve[int(np.percentile(pixels, 90))] if paper is None else paper
    return Capture("a.jpg", "", pixels, curve, np.full(3, level), jpeg_steps=steps)


def frame(paper=220, black=20):
    pixels = np.full((200, 300, 3), paper, np.uint8)
    pixels[50:150, 100:200] = black
    return pixels


def found(capture):
    return {f.name: f for f in pixel_findings(capture, *WHOLE)}


def test_a_plain_frame_is_fine():
    findings = found(capture_of(frame()))
    assert {f.severity for f in findings.values()} == {"fine"}


@pytest.mark.parametrize(
    ("stops", "severity"), [(1.0, "fine"), (2.4, "fine"), (2.7, "warning"), (5.5, "not fit")]
)
def test_exposure_in_stops(stops, severity):
    finding = found(capture_of(frame(), paper=2.0**-stops))["exposure"]
    assert finding.value == pytest.approx(stops, abs=1e-6)
    assert finding.severity == severity


@pytest.mark.parametrize(
    ("share", "severity"), [(0.002, "fine"), (0.02, "warning"), (0.2, "not fit")]
)
def test_clipped_paper_by_its_share(share, severity):
    pixels, rng = frame(), np.random.default_rng(0)
    paper = pixels[..., 0] == 220
    full = paper & (rng.random(paper.shape) < share)
    pixels[full, 0] = 255  # one channel is enough
    finding = found(capture_of(pixels))["clipped light"]
    assert finding.value == pytest.approx(100 * full.sum() / paper.sum())
    assert finding.severity == severity


@pytest.mark.parametrize(("share", "severity"), [(0.0, "fine"), (0.1, "warning"), (0.9, "not fit")])
def test_black_at_zero_by_its_share(share, severity):
    pixels, rng = frame(), np.random.default_rng(0)
    cut = (pixels[..., 0] == 20) & (rng.random(pixels.shape[:2]) < share)
    pixels[cut] = 0
    finding = found(capture_of(pixels))["clipped dark"]
    assert finding.value == pytest.approx(100 * cut.sum() / 10000)
    assert finding.severity == severity


def test_coloured_ink_at_zero_in_one_channel_is_no_fault():
    pixels = frame()
    pixels[50:150, 100:200, 0] = 0
    assert found(capture_of(pixels))["clipped dark"].value == 0


def test_a_camera_file_has_no_black_end_but_a_light_one():
    pixels = np.full((200, 300, 3), 40000, np.uint16)
    pixels[50:150, 100:200] = 0
    pixels[:20, :20] = 65535
    findings = found(capture_of(pixels, pedestal_curve()))
    assert findings["clipped dark"].value == 0
    assert findings["clipped light"].value == pytest.approx(100 * 400 / 50000)


def test_compression_is_the_mean_of_the_ten_lowest_steps():
    steps = np.full((8, 8), 99)
    for u in range(4):
        for v in range(4 - u):
            steps[u, v] = 10 + u
    finding = found(capture_of(frame(), steps=tuple(steps.ravel())))["compression"]
    assert finding.value == pytest.approx((4 * 10 + 3 * 11 + 2 * 12 + 13) / 10)
    assert finding.severity == "warning"
    assert "raw files" in finding_text(finding)


@pytest.mark.parametrize(
    ("value", "severity", "limit"),
    [(20.0, "fine", 12.0), (8.0, "warning", 12.0), (3.0, "not fit", 5.0)],
)
def test_limits_may_be_lower_ones(value, severity, limit):
    limits = FaultLimits(Symptom.FINEST_LINE_PAIR, 12.0, 5.0, "lp/mm", "why")
    finding = Finding(Fault.SAMPLING, value, limits)
    assert (finding.severity, finding.limit) == (severity, limit)


def test_a_frame_without_paper_is_judged_by_both_ends_and_its_compression():
    pixels = frame()
    pixels[:50] = 255
    findings = frame_findings(capture_of(pixels, paper=CURVE[220]))
    assert [f.name for f in findings] == ["clipped light", "clipped dark", "compression"]
    # 50 of 200 rows are full; all but 100 x 100 of the 200 x 300 pixels are paper
    assert findings[0].value == pytest.approx(100 * 50 * 300 / (200 * 300 - 100 * 100))
    assert "30.0 % of the paper is at full" in finding_text(findings[0])
    assert (findings[1].value, findings[2].value) == (0, 0)


def test_what_rounding_leaves_of_grain():
    """Deviation of a normal value rounded to steps q, over its own s (closed form).

    E Q^2 = 2 q^2 sum (2 k - 1) P(x > (k - 1/2) q), k from 1 on.
    """
    k = np.arange(1, 40)

    def left(step):
        beyond = norm.sf((k - 0.5) * step)
        return float(np.sqrt(2 * step**2 * np.sum((2 * k - 1) * beyond)))

    assert left(0.5) == pytest.approx(1, abs=0.02)
    assert left(2.0) == pytest.approx(1.14, abs=0.01)
    assert left(5.0) == pytest.approx(0.56, abs=0.02)
    tints = 4.0
    assert COMPRESSION.warning == 2 * tints
    assert COMPRESSION.not_fit > 5 * tints
