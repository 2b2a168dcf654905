"""Pages, terminal, table to paste, JSON and CSV of a sample run give the same numbers."""

import csv
import html
import json
from pathlib import Path

import numpy as np
import pytest
from command_line import dotloupe

from dotloupe.report.text.rounding import column_decimals, interval_text, value_text

SAMPLES = Path(__file__).parents[2] / "sample_captures"


def run(command, name, folder):
    """Run a command over a sample's folders; what the terminal said."""
    settings = sorted((SAMPLES / name).iterdir())
    again = folder / "again.json"
    done = dotloupe(command, *settings, "--out", folder, "--json", again, cwd=folder)
    assert done.returncode == 0, done.stderr
    told = json.loads((folder / "data" / "result.json").read_text("utf-8"))
    assert json.loads(again.read_text("utf-8"))["criteria"] == told["criteria"]
    with (folder / "data" / "numbers.csv").open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    pages = [html.unescape((folder / n).read_text("utf-8")) for n in ("index.html", "short.html")]
    pasted = (folder / "data" / "table.md").read_text("utf-8")
    return done.stdout, told, rows, [*pages, pasted]


def said(value, low, high, places):
    return value_text(value, low, high, places), interval_text(value, low, high, places)


@pytest.mark.parametrize("name", ["quality", pytest.param("alignment", marks=pytest.mark.slow)])
def test_of_a_ranking(name, tmp_path):
    terminal, told, rows, texts = run("rank", name, tmp_path)
    plain = " ".join(terminal.split())
    for criterion, found in told["criteria"].items():
        places = column_decimals((p["value"], p["low"], p["high"]) for p in found["places"])
        for p in found["places"]:
            for text in said(p["value"], p["low"], p["high"], places):
                assert text in plain, (criterion, text)
                assert all(text in page for page in texts), (criterion, text)
            prints = {n["print_id"]: n["value"] for n in p["prints"]}
            kept = {
                r["print"]: float(r["value"])
                for r in rows
                if (r["setting"], r["number"]) == (p["setting"], criterion)
            }
            if criterion != "overall":
                assert kept == pytest.approx(prints, rel=1e-12)


@pytest.mark.slow
def test_of_a_ladder(tmp_path):
    terminal, told, rows, texts = run("ladder", "ladder", tmp_path)
    for criterion, found in told["criteria"].items():
        places = column_decimals((p["value"], p["low"], p["high"]) for p in found["points"])
        for p in found["points"]:
            value, interval = said(p["value"], p["low"], p["high"], places)
            assert all(value in page and interval in page for page in texts), (criterion, value)
            if criterion == "detail_x":
                assert value in terminal
                assert interval in terminal
            kept = [
                float(r["value"])
                for r in rows
                if (r["setting"], r["number"]) == (f"{p['sent_ppi']:g} ppi", criterion)
            ]
            assert sorted(kept) == pytest.approx(sorted(p["prints"]), rel=1e-12)
            assert np.mean(kept) == pytest.approx(p["value"], rel=1e-12)
