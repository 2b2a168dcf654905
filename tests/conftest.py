"""What tests share: the truth of a print, a browser, and tables printed at the end."""

import json
import os
import shutil
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, settings
from simulated_truth import true_detail_of

from dotloupe import Patch, simulate

TABLE = "table row"
OUTSIDE, OUTSIDE_ANEW = "outside check", "OUTSIDE_CHECKS_ANEW"

settings.register_profile(
    "everyday",
    max_examples=60,
    derandomize=True,
    deadline=None,
    database=None,
    suppress_health_check=list(HealthCheck),
)
settings.load_profile("everyday")


@pytest.fixture(scope="session", autouse=True)
def own_cache_folder(tmp_path_factory):
    """Measurements kept by tests, and by the commands they start, lie apart from a person's."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("cache")))
        yield


PRINT_PER_MM = 110.0
"""Sampling of prints whose finest structure no test asks for; the simulator's own is 160."""


@pytest.fixture(scope="session")
def fine_print():
    """A patch and its print in the fine mode, simulated."""
    patch = Patch(600, run=9, label="simulated")
    how = {"mode": simulate.FINE, "seed": 4, "pixels_per_mm": PRINT_PER_MM}
    return patch, simulate.print_picture(patch.draw(), 600, **how)


@pytest.fixture
def true_detail():
    """Call with (printed, patch, axis)."""
    return true_detail_of


@pytest.fixture
def same_bits():
    """Call with two measurements: are their numbers, and the arrays behind them, the same."""

    def same(one, other) -> bool:
        equal = one.to_dict() == other.to_dict()
        for kind in ("edges", "tints", "directions"):
            for name, result in getattr(one, kind).items():
                for key, value in vars(result).items():
                    if isinstance(value, np.ndarray):
                        counterpart = getattr(getattr(other, kind)[name], key)
                        equal &= np.array_equal(value, counterpart, equal_nan=True)
        return equal

    return same


@pytest.fixture
def table_row(request):
    """Call with (table, row) to have the row printed under its table at the end of the run."""

    def add(table: str, row: str) -> None:
        request.node.user_properties.append((TABLE, (table, row)))

    return add


BROWSER_OPTIONS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-dev-shm-usage",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
PATIENCE_MS = 240_000
"""For machines that are busy with other things."""


@pytest.fixture(scope="module")
def browser():
    """Debian's Chromium without a window; skips where it is not installed."""
    driver = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    chromium = shutil.which("chromium")
    if chromium is None:
        pytest.skip("no chromium is installed")
    driver.expect.set_options(timeout=PATIENCE_MS)
    with driver.sync_playwright() as running:
        opened = running.chromium.launch(executable_path=chromium, args=list(BROWSER_OPTIONS))
        yield opened
        opened.close()


@pytest.fixture
def open_page(browser):
    """Open a page; at the end no message, no error, and no request but below its home."""
    contexts, faults = [], []

    def note_failure(request):
        # a page that is left gives up what it was asking for
        if request.failure != "net::ERR_ABORTED":
            faults.append(f"failed {request.url}: {request.failure}")

    def opened(address, home, **options):
        context = browser.new_context(**options)
        contexts.append(context)
        context.set_default_timeout(PATIENCE_MS)
        page = context.new_page()
        page.on("console", lambda message: faults.append(message.text))
        page.on("pageerror", lambda error: faults.append(str(error)))
        page.on("dialog", lambda dialog: faults.append(dialog.message))
        page.on("requestfailed", note_failure)
        page.on(
            "request", lambda r: None if r.url.startswith(home) else faults.append(f"asked {r.url}")
        )
        page.goto(address)
        return page

    yield opened
    for context in contexts:
        context.close()
    assert faults == []


@cache
def outside_page():
    return (Path(__file__).parent / "outside_checks.md").read_text("utf-8")


@pytest.fixture
def outside_check(request):
    """Compare with a value from outside, and keep the comparison for `outside_checks.md`.

    Call with (claim, source, value, ours) and the bound that ``pytest.approx`` takes; say
    ``memory=True`` where nobody who wrote the value down held the text. Of arrays the page shows
    the element that differs most.
    """

    def check(claim, source, value, ours, *, rel=None, abs=None, memory=False):  # noqa: A002
        wanted, got = np.broadcast_arrays(np.asarray(value, float), np.asarray(ours, float))
        worst = np.unravel_index(np.argmax(np.abs(got - wanted)), wanted.shape)
        row = {
            "claim": claim,
            "source": source,
            "memory": memory,
            "value": float(wanted[worst]),
            "ours": float(got[worst]),
            "count": wanted.size,
            "bound": f"{100 * rel:g} %" if rel is not None else f"{abs:g}",
        }
        request.node.user_properties.append((OUTSIDE, json.dumps(row)))
        if OUTSIDE_ANEW not in os.environ:
            there = f"| {claim} " in outside_page() and f"| {source} |" in outside_page()
            assert there, f"{claim}: not on the page; run python tests/outside_checks.py"
        assert got == pytest.approx(wanted, rel=rel, abs=abs), claim

    return check


def pytest_terminal_summary(terminalreporter):
    tables: dict[str, list[str]] = {}
    for reports in terminalreporter.stats.values():
        for report in reports:
            if getattr(report, "when", None) != "call":
                continue
            for name, value in report.user_properties:
                if name == TABLE:
                    tables.setdefault(value[0], []).append(value[1])
    for table, rows in tables.items():
        terminalreporter.section(table)
        for row in sorted(set(rows)):
            terminalreporter.line(row)
