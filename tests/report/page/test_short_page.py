"""The short page, the picture for links and the table to paste hold what the page says."""

import json
import re

import numpy as np
from PIL import Image

from dotloupe.report.model import report_model
from dotloupe.report.text import ranking_screen

from .test_page import read


def test_short_page_has_the_answer_one_plot_and_one_close_up(ranking, ranking_page):
    whole = ranking_page.read_text(encoding="utf-8")
    short = (ranking_page.parent / "short.html").read_text(encoding="utf-8")
    first = ranking_screen(report_model(ranking))
    seen = " ".join(read(ranking_page.parent / "short.html").text)
    for sentence in (*first.verdict.sentences, *first.verdict.seen, *first.verdict.limits):
        assert sentence in seen
    assert short.count("<svg") == 1 < whole.count("<svg")
    assert short.count('class="close"') <= 1
    assert 3 * len(short) < len(whole)


def test_short_page_stands_on_its_own(ranking_page):
    folder = ranking_page.parent
    seen = read(folder / "short.html")
    for address in (a for a in seen.addresses if not a.startswith("#")):
        assert not re.match(r"[a-z]+:|//|/", address), address
        assert (folder / address).is_file(), address
    assert "script" not in seen.tags


def test_links_show_a_picture_of_the_stated_size(ranking_page):
    """1200 x 630 (common practice, no source), named in the page's head."""
    picture = Image.open(ranking_page.parent / "summary.png")
    assert picture.size == (1200, 630)
    assert np.ptp(np.asarray(picture.convert("L"))) > 150
    for page in ("index.html", "short.html"):
        text = (ranking_page.parent / page).read_text(encoding="utf-8")
        named = dict(re.findall(r'<meta property="og:([\w:]+)" content="([^"]*)">', text))
        assert named["image"] == "summary.png"
        assert (named["image:width"], named["image:height"]) == ("1200", "630")
        assert named["title"]


def test_table_to_paste_holds_the_numbers_of_the_first_screen(ranking, ranking_page):
    first = ranking_screen(report_model(ranking))
    text = (ranking_page.parent / "data" / "table.md").read_text(encoding="utf-8")
    rows = [line for line in text.splitlines() if line.startswith("|")]
    assert len(rows) == 2 + len(first.rows)
    assert len({row.count("|") for row in rows}) == 1
    for line, row in zip(rows[2:], first.rows, strict=True):
        for cell in filter(None, row.cells):
            assert cell.value in line
            assert cell.interval in line
    assert json.loads((ranking_page.parent / "data" / "result.json").read_text(encoding="utf-8"))
