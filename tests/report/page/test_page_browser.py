"""The report in a browser: what is shown, moved, flicked and said, and nothing sent anywhere."""

import io
import json

import numpy as np
import pytest
from PIL import Image

import dotloupe
from dotloupe.compare.ranking.ranking import rank
from dotloupe.report.text.phrases import phrase, sentence
from dotloupe.report.text.rounding import column_decimals, interval_text, value_text

playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")

DESKTOP, PHONE = {"width": 1280, "height": 900}, {"width": 400, "height": 850}
CSS_PER_MM = 96 / 25.4
"""A CSS pixel is a 96th of an inch (CSS Values and Units, level 4, absolute lengths)."""


@pytest.fixture
def visit(open_page):
    """Open a report from disk; no request may leave its own folder."""

    def visited(page_path, viewport=DESKTOP, **options):
        home = page_path.parent.as_uri()
        return open_page(page_path.as_uri(), home, viewport=viewport, offline=True, **options)

    return visited


VIEW = """before => {
    const now = {...document.getElementById('stage').dataset};
    if (!now.settled) return null;
    return before && ['x', 'y', 'scale', 'top'].every(k => now[k] === before[k]) ? null : now;
}"""


def stage_of(page, after=None):
    """Wait until the pictures are drawn, and give what the viewer says of its view.

    With `after`, an earlier view, wait also until another one is drawn: what a pointer does
    arrives with a later frame.
    """
    earlier = after and after["said"]
    said = page.wait_for_function(VIEW, arg=earlier, polling=20).json_value()
    numbers = {name: float(said[name]) if said[name] else None for name in VIEWED}
    return {**numbers, "said": said}


VIEWED = ("x", "y", "scale", "top")


def middle_of(page, locator):
    """Bring it into the window, where alone a pointer reaches it, and give its middle there."""
    locator.evaluate("one => one.scrollIntoView({block: 'center', behavior: 'instant'})")
    box = locator.bounding_box()
    assert box["y"] >= 0
    assert box["y"] + box["height"] <= page.viewport_size["height"]
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def shown(page, pane):
    """Pixels of one pane's picture, shape (rows, columns, 3)."""
    png = page.locator(".pane canvas").nth(pane).screenshot()
    return np.asarray(Image.open(io.BytesIO(png)).convert("RGB")).astype(float)


def expected(page_path, layer, view, size):
    """Pixels that a layer's file gives at a view, and which pixels it covers."""
    rows, columns = size
    picture = Image.open(page_path.parent / layer["path"]).convert("RGB")
    x, y, width, height = layer["box"]
    scale = view["scale"]
    wide, high = round(width * scale), round(height * scale)
    resized = np.asarray(picture.resize((wide, high), Image.Resampling.BILINEAR)).astype(float)
    left = round((x - view["x"]) * scale + columns / 2)
    top = round((y - view["y"]) * scale + rows / 2)
    across = slice(max(left, 0), min(left + wide, columns))
    down = slice(max(top, 0), min(top + high, rows))
    own = resized[down.start - top : down.stop - top, across.start - left : across.stop - left]
    return own, (down, across)


def check_pixels(page, page_path, pane, setting, *, close=True):
    """Hold a pane against the crop of a setting; leave out the corners where words lie."""
    content = json.loads(page.locator("#viewer-content").text_content())
    layers = content["settings"][setting]["prints"][0]["layers"]
    view, picture = stage_of(page), shown(page, pane)
    layer = next(
        one
        for one in (layers[1:] if close else layers[:1])
        if one["box"][0] <= view["x"] <= one["box"][0] + one["box"][2]
        and one["box"][1] <= view["y"] <= one["box"][1] + one["box"][3]
    )
    own, (down, across) = expected(page_path, layer, view, picture.shape[:2])
    seen = picture[down, across]
    keep = slice(10, max(own.shape[0] - 60, 20))
    difference = np.abs(seen[keep] - own[keep]).mean()
    other = np.abs(seen[keep] - np.roll(own, 12, axis=1)[keep]).mean()
    return difference, other


def place(page, name):
    page.locator("#element-choice").select_option(label=name)


CLOSE = "Tint, grey that reflects 40 %"


def test_verdict_and_table_are_those_of_the_json(visit, pictured_page):
    page = visit(pictured_page)
    result = json.loads((pictured_page.parent / "data" / "result.json").read_text("utf-8"))
    leader = result["criteria"]["overall"]["places"][0]["setting"]
    assert page.locator(".verdict").inner_text().startswith(f"“{leader}” prints measurably better")
    rows = page.locator(".standing tbody tr").all()
    order = [p["setting"] for p in result["criteria"]["overall"]["places"]]
    assert [row.locator("bdi.name").inner_text() for row in rows] == order
    told = {name: c for name, c in result["criteria"].items() if c["places"]}
    assert {"overall", "detail_x", "detail_y", "line_pairs_x", "line_pairs_y", "grain"} <= set(told)
    for name, criterion in told.items():
        head = sentence(phrase(name, name))
        places = column_decimals((p["value"], p["low"], p["high"]) for p in criterion["places"])
        for row in rows:
            setting = row.locator("bdi.name").inner_text()
            found = next(p for p in criterion["places"] if p["setting"] == setting)
            cell = row.locator(f'td[data-head="{head}"]').inner_text()
            numbers = (found["value"], found["low"], found["high"])
            assert value_text(*numbers, places) in cell
            assert interval_text(*numbers, places) in cell
            for tied in found["tied_with"]:
                assert f"tied with “{tied}”" in cell


def test_pictures_are_the_crops(visit, pictured_page):
    page = visit(pictured_page)
    place(page, CLOSE)
    for pane in (0, 1):
        difference, shifted = check_pixels(page, pictured_page, pane, pane)
        # resampling differs in kind by a few codes of 255; another place of the grain by many
        assert difference < 4
        assert shifted > 2 * difference


def test_drag_moves_all_pictures_by_the_same_millimetres(visit, pictured_page):
    page = visit(pictured_page)
    place(page, CLOSE)
    x, y = middle_of(page, page.locator(".pane").first)
    before = stage_of(page)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 90, y - 40, steps=5)
    page.mouse.up()
    aim = before["x"] - 90 / before["scale"]
    # the last of the steps may come a frame after the first
    page.wait_for_function(
        "aim => Math.abs(document.getElementById('stage').dataset.x - aim) < 1e-3", arg=aim
    )
    after = stage_of(page)
    assert after["scale"] == before["scale"]
    assert after["x"] == pytest.approx(before["x"] - 90 / before["scale"], abs=1e-3)
    assert after["y"] == pytest.approx(before["y"] + 40 / before["scale"], abs=1e-3)
    for pane in (0, 1):
        difference, shifted = check_pixels(page, pictured_page, pane, pane)
        assert shifted > 2 * difference


def test_wheel_sizes_about_the_pointer(visit, pictured_page):
    page = visit(pictured_page)
    place(page, CLOSE)
    page.locator("#stage").focus()
    x, y = middle_of(page, page.locator(".pane").first)
    before = stage_of(page)
    # the browser tells where the pointer is in whole pixels; the middle may lie between two
    pointer = (round(x) + 80, round(y) - 50)
    off = (pointer[0] - x, pointer[1] - y)
    page.mouse.move(*pointer)
    page.mouse.wheel(0, -300)
    after = stage_of(page, after=before)
    assert after["scale"] > 1.3 * before["scale"]
    for axis, moved in zip("xy", off, strict=True):
        under = [v[axis] + moved / v["scale"] for v in (before, after)]
        assert under[0] == pytest.approx(under[1], abs=2e-3)


def test_flick_lays_one_over_the_other(visit, pictured_page):
    page = visit(pictured_page)
    place(page, CLOSE)
    page.locator("#stage").focus()
    tops = []
    view = stage_of(page)
    for _ in range(3):
        page.keyboard.press("Space")
        view = stage_of(page, after=view)
        top = int(view["top"]) - 1
        tops.append(top)
        assert page.locator(".pane:visible").count() == 1
        difference, shifted = check_pixels(page, pictured_page, top, top)
        assert shifted > 2 * difference
    assert tops == [0, 1, 0]
    page.keyboard.press("2")
    assert stage_of(page)["top"] == 2
    playwright.expect(page.locator("#status")).to_contain_text("“fine” on top")
    page.keyboard.press("b")
    assert page.locator(".pane:visible").count() == 2


def test_keyboard_alone(visit, pictured_page):
    page = visit(pictured_page)
    for _ in range(40):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.id") == "stage":
            break
    assert page.evaluate("document.activeElement.id") == "stage"
    page.keyboard.press("w")
    before = stage_of(page)
    page.keyboard.press("+")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowDown")
    after = stage_of(page)
    assert after["scale"] == pytest.approx(1.25 * before["scale"], rel=1e-3)
    assert after["x"] == pytest.approx(before["x"] + 60 / after["scale"], abs=1e-3)
    assert after["y"] == pytest.approx(before["y"] + 60 / after["scale"], abs=1e-3)
    page.keyboard.press("n")
    stage_of(page)
    place_now = page.locator("#element-choice").evaluate("s => s.selectedOptions[0].text")
    playwright.expect(page.locator("#status")).to_contain_text(place_now)
    # the way on leads out of the pictures
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.id") != "stage"


def test_every_element_can_be_reached(visit, pictured_page):
    page = visit(pictured_page)
    content = json.loads(page.locator("#viewer-content").text_content())
    assert len(content["elements"]) > 60
    for element in content["elements"][::9]:
        place(page, element["name"])
        view = stage_of(page)
        x, y, width, height = element["box"]
        assert view["x"] == pytest.approx(x + width / 2, abs=1e-3)
        assert view["y"] == pytest.approx(y + height / 2, abs=1e-3)
        pane = page.locator(".pane").first.bounding_box()
        assert width * view["scale"] <= pane["width"]
        assert height * view["scale"] <= pane["height"]
        playwright.expect(page.locator("#status")).to_contain_text(element["name"])


def test_plan_leads_anywhere(visit, pictured_page):
    page = visit(pictured_page)
    plan, before = page.locator("#plan"), stage_of(page)
    box = plan.bounding_box()
    plan.click(position={"x": box["width"] / 3, "y": box["height"] / 4})
    view = stage_of(page, after=before)
    # within a pixel of the plan
    assert view["x"] == pytest.approx(30 / 3, abs=0.15)
    assert view["y"] == pytest.approx(20 / 4, abs=0.15)


def test_print_size_and_the_size_as_seen(visit, pictured_page):
    page = visit(pictured_page)
    page.locator("#true-size").click()
    assert stage_of(page)["scale"] == pytest.approx(CSS_PER_MM, rel=1e-3)
    page.locator("summary").click()
    page.locator("#print-distance").fill("30")
    page.locator("#screen-distance").fill("60")
    page.locator("#as-seen").click()
    # the same angle at the eye from twice the distance takes twice the size
    assert stage_of(page)["scale"] == pytest.approx(2 * CSS_PER_MM, rel=1e-3)
    assert page.locator("#as-seen").inner_text() == "As seen from 30 cm"
    # a card drawn 270 px high fixes the screen's pixels
    page.locator("#card-size").evaluate(
        "slider => { slider.value = 270; slider.dispatchEvent(new Event('input')); }"
    )
    page.locator("#true-size").click()
    assert stage_of(page)["scale"] == pytest.approx(270 / 53.98, rel=1e-3)
    assert page.locator("#card").bounding_box()["width"] == pytest.approx(270, abs=1)


def test_scale_bar_is_as_long_as_it_says(visit, pictured_page):
    page = visit(pictured_page)
    for name in (CLOSE, "Whole patch"):
        place(page, name)
        scale = stage_of(page)["scale"]
        said = float(page.locator(".measure span").inner_text().removesuffix(" mm"))
        drawn = page.locator(".measure i").bounding_box()["width"]
        assert drawn == pytest.approx(said * scale, abs=1)
    bar = page.locator(".sheet .bar").first
    sheet = page.locator(".sheet").first.bounding_box()
    # close-ups are 2 mm wide
    assert bar.bounding_box()["width"] / sheet["width"] == pytest.approx(0.5 / 2, abs=0.01)


@pytest.mark.parametrize("viewport", [DESKTOP, PHONE], ids=["desktop", "phone"])
def test_nothing_runs_over_the_side(visit, pictured_page, viewport):
    page = visit(pictured_page, viewport)
    stage_of(page)
    width = page.evaluate("document.documentElement.scrollWidth")
    assert width <= viewport["width"]
    assert page.locator(".verdict").bounding_box()["y"] < viewport["height"]
    panes = [page.locator(".pane").nth(i).bounding_box() for i in (0, 1)]
    assert all(p["width"] > 150 and p["height"] > 150 for p in panes)


@pytest.mark.parametrize("viewport", [DESKTOP, PHONE], ids=["desktop", "phone"])
def test_no_plot_is_cut_and_no_picture_waits_to_be_reached(visit, pictured_page, viewport):
    """One long picture of the page shows every plot whole and leaves no blank."""
    page = visit(pictured_page, viewport)
    page.wait_for_load_state("networkidle")
    plots = page.locator(".drawn")
    assert plots.count() > 10
    for box in plots.evaluate_all(
        "all => all.map(p => [p.scrollWidth - p.clientWidth, p.querySelector('svg')"
        ".getBoundingClientRect().right, p.getBoundingClientRect().height])"
    ):
        assert box[0] <= 0
        assert box[1] <= viewport["width"]
        assert box[2] > 60
    waiting = page.locator(".close img").evaluate_all(
        "all => all.filter(i => !(i.complete && i.naturalWidth)).length"
    )
    assert page.locator(".close img").count() >= 2
    assert waiting == 0


def test_two_fingers_size_the_pictures(visit, pictured_page):
    page = visit(pictured_page, PHONE, has_touch=True)
    x, y = middle_of(page, page.locator(".pane").first)
    before = stage_of(page)
    session = page.context.new_cdp_session(page)
    for apart, kind in ((40, "touchStart"), (60, "touchMove"), (80, "touchMove")):
        points = [{"x": x - apart, "y": y, "id": 0}, {"x": x + apart, "y": y, "id": 1}]
        session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
    session.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    # the fingers end twice as far apart
    page.wait_for_function(
        "aim => Math.abs(document.getElementById('stage').dataset.scale / aim - 1) < 0.02",
        arg=2 * before["scale"],
    )
    assert stage_of(page)["scale"] == pytest.approx(2 * before["scale"], rel=0.02)


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("viewport", [DESKTOP, PHONE], ids=["desktop", "phone"])
def test_accessibility(visit, pictured_page, viewport, scheme):
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="no axe installed")
    page = visit(pictured_page, viewport, color_scheme=scheme)
    stage_of(page)
    found = axe.Axe().run(page).response["violations"]
    grave = [(v["id"], v["nodes"][0]["html"]) for v in found if v["impact"] in GRAVE]
    assert grave == []


GRAVE = ("serious", "critical")


def test_without_scripts_the_close_ups_stay(visit, pictured_page):
    page = visit(pictured_page, java_script_enabled=False)
    assert not page.locator("#viewer").is_visible()
    images = page.locator(".sheet img")
    assert images.count() >= 4
    assert all(images.nth(i).get_attribute("alt") for i in range(images.count()))


def test_prints_to_pdf(visit, pictured_page, tmp_path):
    page = visit(pictured_page)
    stage_of(page)
    page.pdf(path=tmp_path / "report.pdf", format="A4")
    data = (tmp_path / "report.pdf").read_bytes()
    assert data.startswith(b"%PDF")
    page.emulate_media(media="print")
    assert not page.locator("#viewer").is_visible()
    assert page.locator(".standing").is_visible()


def test_wild_names_stay_text(visit, make_photographs, tmp_path):
    names = (
        "<img src=x onerror=alert(1)>",
        "</script><script>alert(2)</script>",
        "مرحبا \"left\" & 'right'",
        "w" * 300,
    )
    ranking = rank({name: make_photographs(name, i, count=2) for i, name in enumerate(names)})
    for viewport in (DESKTOP, PHONE):
        page = visit(dotloupe.write_report(ranking, tmp_path / "report"), viewport)
        assert set(page.locator(".standing .name").all_inner_texts()) == set(names)
        assert page.evaluate("document.documentElement.scrollWidth") <= viewport["width"]
