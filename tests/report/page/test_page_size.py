"""A report of a dozen large captures stays small and opens at once."""

import hashlib
import shutil
import time
from dataclasses import replace

import cv2
import numpy as np
import pytest

import dotloupe
from dotloupe.compare.ranking.ranking import rank
from dotloupe.patch.patch import Patch
from dotloupe.patch.srgb import srgb_encode
from dotloupe.registration.registration import Registration

ROWS, COLUMNS = 5792, 8688
PIXELS_PER_MM = 260.0
CORNER_PX = np.array([440.0, 290.0])
MOST_BYTES = 25_000_000
OPEN_S = 2.0


def large_capture():
    """Stand-in for 50 megapixels: the patch as drawn, with grain of 30 um and shot noise."""
    patch = Patch(600, 1)
    per_mm = patch.sent_ppi / 25.4
    rng = np.random.default_rng(1)
    grain = cv2.resize(
        rng.standard_normal((ROWS // 8, COLUMNS // 8)).astype(np.float32),
        (COLUMNS, ROWS),
        interpolation=cv2.INTER_CUBIC,
    )
    light = np.full((ROWS, COLUMNS, 3), 0.8, np.float32)
    size = (round(30 * PIXELS_PER_MM), round(20 * PIXELS_PER_MM))
    scale = PIXELS_PER_MM / per_mm
    drawn = cv2.warpAffine(
        patch.reflectance().astype(np.float32),
        np.array([[scale, 0, (scale - 1) / 2], [0, scale, (scale - 1) / 2]]),
        size,
    )
    x, y = CORNER_PX.astype(int)
    light[y : y + size[1], x : x + size[0]] = 0.8 * drawn
    light *= (1 + 0.15 * grain)[..., None]
    light += 0.01 * rng.standard_normal((ROWS, COLUMNS, 1)).astype(np.float32)
    table = np.round(255 * srgb_encode(np.arange(4096) / 4095)).astype(np.uint8)
    return table[np.clip(light * 4095, 0, 4095).astype(np.uint16)]


@pytest.fixture(scope="module")
def large_page(make_photographs, tmp_path_factory):
    folder = tmp_path_factory.mktemp("large")
    picture = large_capture()
    to_mm = np.array(
        [
            [1 / PIXELS_PER_MM, 0, (0.5 - CORNER_PX[0]) / PIXELS_PER_MM],
            [0, 1 / PIXELS_PER_MM, (0.5 - CORNER_PX[1]) / PIXELS_PER_MM],
            [0, 0, 1],
        ]
    )
    settings = {}
    for number in range(4):
        settings[f"setting {number}"] = shots = []
        for shot, m in enumerate(make_photographs(str(number), number, grain=0.4 + 0.1 * number)):
            path = folder / f"{number}_{shot}.jpg"
            # each file differs in quality, and so in its bytes
            quality = 90 + 3 * number % 10 - shot
            cv2.imwrite(str(path), picture, [cv2.IMWRITE_JPEG_QUALITY, quality])
            registration = Registration(to_mm, PIXELS_PER_MM, 2.0, 0.5, Patch(600, 1))
            shots.append(
                replace(
                    m,
                    path=str(path),
                    sha256=hashlib.sha256(path.read_bytes()).hexdigest(),
                    registration=registration,
                )
            )
    started = time.perf_counter()
    page = dotloupe.write_report(rank(settings), folder / "report")
    print(
        f"12 captures of {ROWS * COLUMNS / 1e6:.0f} megapixels, report written in "
        f"{time.perf_counter() - started:.1f} s"
    )
    return page


@pytest.mark.slow
def test_twelve_captures_of_50_megapixels_stay_under_25_mb(large_page):
    size = sum(p.stat().st_size for p in large_page.parent.rglob("*") if p.is_file())
    print(f"report: {size / 1e6:.1f} MB")
    assert len(list((large_page.parent / "pictures").glob("print_??.jpg"))) == 12
    assert size < MOST_BYTES


@pytest.mark.slow
def test_it_opens_within_two_seconds(large_page):
    driver = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    chromium = shutil.which("chromium")
    if chromium is None:
        pytest.skip("no chromium is installed")
    with driver.sync_playwright() as running:
        browser = running.chromium.launch(
            executable_path=chromium, args=["--no-sandbox", "--disable-gpu"]
        )
        browser.new_page().goto("about:blank")
        page = browser.new_page()
        page.goto(large_page.as_uri())
        page.wait_for_function("document.getElementById('stage').dataset.settled")
        drawn_ms = page.evaluate("performance.now()")
        browser.close()
    print(f"page drawn after {drawn_ms:.0f} ms")
    assert drawn_ms < 1000 * OPEN_S
