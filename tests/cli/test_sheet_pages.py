"""Pages written by the command: what is on which, and what is refused."""

import pypdfium2 as pdfium
import pytest
from command_line import dotloupe
from PIL import Image

PLAN = """\
printer = "desk"
paper = "lustre"
"""
RUN = """\
[[runs]]
run = {run}
ppi = {ppi}
mode = "{mode}"
"""


@pytest.fixture
def plan(tmp_path):
    """Two modes at two ppi each."""
    runs = [("fast", 300), ("fine", 300), ("fast", 360), ("fine", 360)]
    text = PLAN + "".join(
        RUN.format(run=n, ppi=ppi, mode=mode) for n, (mode, ppi) in enumerate(runs, start=1)
    )
    file = tmp_path / "plan.toml"
    file.write_text(text, "utf-8")
    return file


def words(document, page):
    return document[page].get_textpage().get_text_range()


def test_a_plan_has_a_page_for_each_setting_of_the_driver(plan, tmp_path):
    result = dotloupe("sheet", plan, "--page", "10x15cm", "--out", tmp_path / "page.pdf")
    assert result.returncode == 0, result.stderr
    document = pdfium.PdfDocument(tmp_path / "page.pdf")
    assert len(document) == 2
    for page, (mode, runs) in enumerate((("fast", (1, 3)), ("fine", (2, 4)))):
        text = words(document, page)
        assert mode in text
        assert "paper feed" in text
        assert all(
            f"run {run}, {ppi} ppi" in text for run, ppi in zip(runs, (300, 360), strict=True)
        )
        assert len([o for o in document[page].get_objects() if isinstance(o, pdfium.PdfImage)]) == 2


def test_png_pages_are_of_one_ppi_each(plan, tmp_path):
    result = dotloupe("sheet", plan, "--page", "10x15cm", "--out", tmp_path / "page.png")
    assert result.returncode == 0, result.stderr
    stated = []
    for file in sorted(tmp_path.glob("page_*.png")):
        with Image.open(file) as image:
            stated.append(image.info["dpi"][0])
    assert stated == pytest.approx([300, 300, 360, 360], rel=1e-4)


def test_one_patch_alone_may_stand_on_a_page(tmp_path):
    result = dotloupe("sheet", "--ppi", 300, "--run", 7, "--out", tmp_path / "page.pdf")
    assert result.returncode == 0, result.stderr
    assert "run 7, 300 ppi" in words(pdfium.PdfDocument(tmp_path / "page.pdf"), 0)


@pytest.mark.parametrize(
    ("more", "word"),
    [
        (("--page", "A99", "--out", "a.pdf"), "A99"),
        (("--page", "30x30", "--out", "a.pdf"), "too small"),
        (("--page", "A4", "--out", "a.tif"), "end its name in .pdf or .png"),
        (("--page", "A4", "--out", "none/a.pdf"), "make it first"),
    ],
)
def test_pages_that_cannot_be_written(more, word, tmp_path):
    result = dotloupe("sheet", "--ppi", 300, *more, cwd=tmp_path)
    assert result.returncode == 2
    (line,) = result.stderr.splitlines()
    assert word in line
    assert list(tmp_path.iterdir()) == []
