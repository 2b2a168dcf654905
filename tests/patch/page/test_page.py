"""Pages of patches, read back by an independent PDF library and an independent PNG reader."""

import ctypes

import numpy as np
import pypdfium2 as pdfium
import pytest
from PIL import Image
from pypdfium2 import raw

from dotloupe import Patch
from dotloupe.errors import InputError
from dotloupe.patch.page import Page, PagePatch, page_layout, paper_size, save_pdf, save_png

MM_PER_POINT = 25.4 / 72
PATCH_MM = Patch(600).size_mm
PPI = (180, 300, 360, 600, 720, 1200)
SIZE_MM = 0.02
"""What a printed patch's size may be off, of the 30 mm that numbers in mm stand on."""


@pytest.fixture(scope="module")
def patches():
    return tuple(
        PagePatch(Patch(ppi, run, "fast").draw(), ppi, f"run {run}, {ppi} ppi")
        for run, ppi in enumerate(PPI)
    )


@pytest.fixture(scope="module")
def pdf(patches, tmp_path_factory):
    layout = page_layout(paper_size("A4"), PATCH_MM)
    path = save_pdf(
        tmp_path_factory.mktemp("page") / "page.pdf",
        layout,
        (Page("first", patches), Page("second", patches[:2])),
    )
    return layout, pdfium.PdfDocument(path)


def images(document, page):
    return [o for o in document[page].get_objects() if isinstance(o, pdfium.PdfImage)]


def pixels(image):
    """The samples as the file holds them, deflated alone, by another program than wrote them."""
    length = raw.FPDFImageObj_GetImageDataDecoded(image, None, 0)
    buffer = (ctypes.c_ubyte * length)()
    raw.FPDFImageObj_GetImageDataDecoded(image, buffer, length)
    columns, rows = image.get_px_size()
    kind = np.dtype("u1") if length == 3 * rows * columns else np.dtype(">u2")
    return np.frombuffer(buffer, kind).reshape(rows, columns, 3)


def test_pixels_read_back_are_those_of_the_patch(pdf, patches):
    _, document = pdf
    found = images(document, 0)
    assert len(found) == len(patches)
    for image, patch in zip(found, patches, strict=True):
        np.testing.assert_array_equal(pixels(image), patch.drawing)


def test_every_patch_has_its_own_ppi_and_true_size(pdf, patches):
    _, document = pdf
    for image, patch in zip(images(document, 0), patches, strict=True):
        left, bottom, right, top = (value * MM_PER_POINT for value in image.get_bounds())
        rows, columns = patch.drawing.shape[:2]
        assert right - left == pytest.approx(columns / patch.ppi * 25.4, abs=SIZE_MM)
        assert top - bottom == pytest.approx(rows / patch.ppi * 25.4, abs=SIZE_MM)
        assert image.get_metadata().horizontal_dpi == pytest.approx(patch.ppi, rel=1e-4)


def test_patches_lie_where_the_layout_says_to_their_own_pixel(pdf, patches):
    layout, document = pdf
    height_mm = document[0].get_height() * MM_PER_POINT
    for image, patch, (x, y) in zip(images(document, 0), patches, layout.corners_mm, strict=False):
        left, _, _, top = (value * MM_PER_POINT for value in image.get_bounds())
        assert abs(left - x) <= 25.4 / patch.ppi / 2 + 1e-3
        assert abs(height_mm - top - y) <= 25.4 / patch.ppi / 2 + 1e-3


def test_paper_is_as_large_as_it_was_chosen(pdf):
    _, document = pdf
    assert len(document) == 2
    width, height = (value * MM_PER_POINT for value in document[1].get_size())
    assert (width, height) == (pytest.approx(210, abs=SIZE_MM), pytest.approx(297, abs=SIZE_MM))


def test_file_asks_not_to_be_scaled_and_names_the_profile(tmp_path, patches):
    from pypdf import PdfReader

    path = save_pdf(
        tmp_path / "a.pdf", page_layout(paper_size("A5"), PATCH_MM), [Page("", patches[:1])]
    )
    reader = PdfReader(path)
    assert reader.trailer["/Root"]["/ViewerPreferences"]["/PrintScaling"] == "/None"
    (image,) = reader.pages[0]["/Resources"]["/XObject"].values()
    kind, profile = image.get_object()["/ColorSpace"]
    assert kind == "/ICCBased"
    assert "sRGB".encode("utf-16-be") in profile.get_object().get_data()


def test_sixteen_bits_are_kept(tmp_path):
    drawing = np.random.default_rng(3).integers(0, 65536, (40, 60, 3), dtype=np.uint16)
    layout = page_layout(paper_size("A4"), PATCH_MM)
    path = save_pdf(tmp_path / "a.pdf", layout, [Page("", (PagePatch(drawing, 300, ""),))])
    (image,) = images(pdfium.PdfDocument(path), 0)
    np.testing.assert_array_equal(pixels(image), drawing)


@pytest.mark.parametrize("paper", ["A4", "letter", "10x15cm", "297x210"])
def test_ruler_measures_100_mm_and_nothing_meets_a_patch(tmp_path, paper):
    """Seen on the page as another program renders it."""
    layout = page_layout(paper_size(paper), PATCH_MM)
    drawn = np.zeros((472, 709, 3), np.uint8)
    patch = PagePatch(drawn, 600, "run 1, 600 ppi, and more words than its line can ever hold, no")
    path = save_pdf(tmp_path / "a.pdf", layout, [Page("fast", layout.held * (patch,))])
    per_mm = 20
    page = pdfium.PdfDocument(path)[0].render(scale=per_mm * MM_PER_POINT).to_numpy()
    dark = page.min(axis=2) < 128
    x, y = (round(place * per_mm) for place in layout.ruler_mm)
    if layout.ruler_runs_down:
        dark_ruler, start = dark[:, x - 2 : x + 3].any(axis=1), y
    else:
        dark_ruler, start = dark[y - 2 : y + 3].any(axis=0), x
    run = np.flatnonzero(~dark_ruler[start + 2 :])[0] + 2
    assert run / per_mm == pytest.approx(100, abs=0.15)  # a line's width and two pixels
    for left, top in layout.corners_mm:
        around = dark[
            round((top - 2) * per_mm) : round((top + 22) * per_mm),
            round((left - 3) * per_mm) : round((left + 33) * per_mm),
        ].copy()
        around[35 : 35 + 410, 55 : 55 + 610] = False
        assert not around.any()


def test_png_page_holds_the_pixels_and_states_ppi_and_profile(tmp_path, patches):
    same = tuple(PagePatch(Patch(600, run).draw(), 600, f"run {run}") for run in (1, 2))
    layout = page_layout(paper_size("10x15cm"), PATCH_MM)
    with Image.open(save_png(tmp_path / "a.png", layout, Page("fast", same))) as image:
        assert image.info["dpi"] == pytest.approx((600, 600), rel=1e-4)
        assert image.size == (round(100 / 25.4 * 600), round(150 / 25.4 * 600))
        assert image.info["icc_profile"]
        page = np.asarray(image)
    for patch, corner_mm in zip(same, layout.corners_mm, strict=False):
        top, left = patch.corner_px(corner_mm)
        rows, columns = patch.drawing.shape[:2]
        shown = page[top : top + rows, left : left + columns]
        np.testing.assert_array_equal(shown, patch.drawing)
    with pytest.raises(InputError, match="one ppi"):
        save_png(tmp_path / "b.png", layout, Page("", patches[:2]))


@pytest.mark.parametrize("paper", ["A9", "50x50", "20x4000", "0x0"])
def test_paper_that_is_none_or_too_small_is_refused(paper):
    with pytest.raises(InputError):
        page_layout(paper_size(paper), PATCH_MM)
