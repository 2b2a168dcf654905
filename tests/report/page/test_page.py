"""The report folder: what it holds, that its numbers are the result's, that text stays text."""

import csv
import json
import re
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest

import dotloupe
from dotloupe.capture import NoProfile
from dotloupe.cautions import Stated
from dotloupe.compare.ranking.ranking import rank
from dotloupe.errors import InputError
from dotloupe.report.circumstances import Circumstances
from dotloupe.report.json_values import ranking_json
from dotloupe.report.text import caution_text
from dotloupe.report.text.rounding import column_decimals, value_text


class _Seen(HTMLParser):
    """Tags, addresses, ids and text of a page."""

    def __init__(self):
        super().__init__()
        self.tags, self.addresses, self.ids, self.text = [], [], [], []

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        for name, value in attrs:
            if name in ("src", "href", "xlink:href"):
                self.addresses.append(value)
            if name == "id":
                self.ids.append(value)

    def handle_data(self, data):
        self.text.append(data)


def read(page):
    seen = _Seen()
    seen.feed(page.read_text(encoding="utf-8"))
    return seen


def test_page_stands_on_its_own(ranking_page):
    assert ranking_page.name == "index.html"
    seen = read(ranking_page)
    for address in seen.addresses:
        assert not re.match(r"[a-z]+:|//|/", address), address
        if not address.startswith("#"):
            assert (ranking_page.parent / address).is_file(), address
    assert len(seen.ids) == len(set(seen.ids))
    inner = {a for a in seen.addresses if a.startswith("#")}
    assert inner <= {f"#{i}" for i in seen.ids}


def test_numbers_are_those_of_the_result(ranking, ranking_page):
    data = ranking_page.parent / "data"
    result = json.loads((data / "result.json").read_text(encoding="utf-8"))
    expected = json.loads(json.dumps(ranking_json(ranking)))
    assert {name: result[name] for name in expected} == expected
    text = " ".join(read(ranking_page).text)
    for criterion in result["criteria"].values():
        numbers = [(p["value"], p["low"], p["high"]) for p in criterion["places"]]
        places = column_decimals(numbers)
        for number in numbers:
            assert value_text(*number, places) in text
    for shots in result["captures"].values():
        assert all(shot["sha256"] in text for shot in shots)


def test_every_plot_has_its_data(ranking, ranking_page):
    folder = ranking_page.parent
    drawings = {p.stem for p in (folder / "plots").iterdir()}
    tables = {p.stem for p in (folder / "data").glob("*.csv")}
    assert tables == drawings | {"numbers"}
    assert {"standing_overall", "detail_x", "line_pairs_y", "grain_tints"} <= drawings
    with (folder / "data" / "standing_grain.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    places = ranking.criteria["grain"].places
    assert [float(r["value"]) for r in rows] == [p.value for p in places]


def test_what_must_be_known_of_the_captures_is_among_the_cautions(make_photographs, tmp_path):
    without = "no colour profile in the file: read as sRGB"
    first = [replace(m, warnings=(NoProfile(),)) for m in make_photographs("fast", 1)]
    result = rank({"fast": first, "fine": make_photographs("fine", 2)})
    text = " ".join(read(dotloupe.write_report(result, tmp_path / "ranking")).text)
    assert f"N{without[1:]}: 3 captures" in text
    history = dotloupe.History(tmp_path / "history.sqlite")
    for day, shot in enumerate(first, start=1):
        printed_on = f"2026-03-0{day}"
        named = {"printer": "a", "paper": "b", "mode": "c", "printed_on": printed_on}
        history.add([shot], **named, words=caution_text)
    text = " ".join(read(dotloupe.write_report(history.track(), tmp_path / "trend")).text)
    assert f"N{without[1:]}: 3 of 3 photographs" in text


def test_ladder_is_drawn(climbing, tmp_path):
    text = " ".join(read(dotloupe.write_report(climbing, tmp_path)).text)
    assert f"{climbing.enough_ppi:g} ppi is enough" in text
    assert (tmp_path / "plots" / "ladder_detail_x.svg").is_file()


def test_title_note_and_names_stand_on_the_page_and_in_the_json(ranking, tmp_path):
    told = Circumstances("Summer test", "printed by <us>", {"printer": "desk", "paper": "lustre"})
    page = dotloupe.write_report(ranking, tmp_path, circumstances=told)
    seen = read(page)
    head = " ".join(seen.text)[: " ".join(seen.text).index("Can it be seen?")]
    assert all(words in head for words in ("Summer test", "printed by <us>", "desk", "lustre"))
    result = json.loads((tmp_path / "data" / "result.json").read_text(encoding="utf-8"))
    assert result["title"] == "Summer test"
    assert result["circumstances"]["printer"] == "desk"
    assert result["circumstances"]["note"] == "printed by <us>"
    assert result["circumstances"]["viewing distance"] == "35 cm"
    assert result["version"] in result["circumstances"]["measured by"]


def test_no_file_of_a_report_says_where_the_captures_lie(pictured, tmp_path):
    shots = pictured.measurements["fast"]
    folder = str(Path(shots[0].path).parent.parent)
    assert Path(folder).is_absolute()
    gone = replace(shots[1], path=f"{folder}/lost/gone.png")
    unfit = replace(
        shots[1], path=f"{folder}/lost/unfit.png", sha256="0", fit=False,
        reasons=(Stated(f"{folder}/lost/unfit.png: no marks"),),
    )  # fmt: skip
    settings = {**pictured.measurements, "fast": (shots[0], gone, unfit)}
    page = dotloupe.write_report(rank(settings), tmp_path / "report")
    written = [p for p in page.parent.rglob("*") if p.is_file()]
    assert len(written) > 20
    for path in written:
        assert folder.encode() not in path.read_bytes(), path.name
    text = page.read_text(encoding="utf-8")
    assert "lost/unfit.png" in text
    assert f"{Path(shots[0].path).parent.name}/fast0.png" in text
    # the captures were read all the same
    assert (page.parent / "pictures" / "print_01.jpg").is_file()


def test_same_result_same_bytes(ranking, ranking_page, tmp_path, monkeypatch):
    # nothing is kept from the one for the other
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    one = dotloupe.write_report(ranking, tmp_path / "report").parent
    files = [p.relative_to(one) for p in one.rglob("*") if p.is_file()]
    for file in files:
        assert (one / file).read_bytes() == (ranking_page.parent / file).read_bytes(), file


WILD = (
    "<script>alert(1)</script>",
    "\"quoted\" & 'so' </style></svg>",
    "../../outside/../x",
    "$x^2$ \\frac{",
    "مرحبا left",
    "-->{{ 7*7 }}{% raw %}",
    "n" * 300,
)


def test_wild_names_are_text_and_write_nothing_outside(make_photographs, ranking_page, tmp_path):
    folder = tmp_path / "in" / "report"
    wild = rank({name: make_photographs(name, i) for i, name in enumerate(WILD)})
    page = dotloupe.write_report(wild, folder)
    assert [p.name for p in tmp_path.iterdir()] == ["in"]
    assert [p.name for p in (tmp_path / "in").iterdir()] == ["report"]
    seen = read(page)
    text = "".join(seen.text)
    for name in WILD:
        assert name in text, name
    assert "49" not in re.findall(r"-->(\d+)", text)
    # as many scripts as a page of tame names has, and no file named by a setting
    assert seen.tags.count("script") == read(ranking_page).tags.count("script")
    names = [p.relative_to(folder).as_posix() for p in folder.rglob("*")]
    assert len(names) > 20
    assert all(
        re.fullmatch(r"[a-z0-9_/]{1,60}(\.(html|json|csv|svg|jpg|md|png))?", name) for name in names
    )


def test_anything_else_is_refused(ranking, tmp_path):
    with pytest.raises(InputError, match="cannot be drawn"):
        dotloupe.write_report({"a": 1}, tmp_path)
    (tmp_path / "file").write_text("here already")
    with pytest.raises(InputError, match="choose another folder"):
        dotloupe.write_report(ranking, tmp_path / "file")
