"""The workbench in a browser, from drop to report."""

import base64
import hashlib
import json
import re
import shutil
import signal
import subprocess
import sys
from pathlib import Path

import pytest

playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")

SAMPLES = Path(__file__).parents[2] / "sample_captures" / "quality"
DESKTOP, PHONE = {"width": 1280, "height": 900}, {"width": 400, "height": 850}
GRAVE = ("serious", "critical")
DROP = """([element, files]) => {
    const transfer = new DataTransfer();
    for (const [name, text] of files) {
        const bytes = Uint8Array.from(atob(text), (c) => c.charCodeAt(0));
        transfer.items.add(new File([bytes], name, {type: 'image/jpeg'}));
    }
    const options = {dataTransfer: transfer, bubbles: true, cancelable: true};
    element.dispatchEvent(new DragEvent('drop', options));
}"""
WILD = '<img src=x onerror="alert(1)"> / مرحبا'


def heeds_interruption():
    """A process started in the background of a script inherits that it is not interrupted."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


@pytest.fixture
def address(tmp_path):
    """Address of a workbench over a new folder, started as a person starts it."""
    command = "from dotloupe.cli import main; main()"
    running = subprocess.Popen(
        [
            *(sys.executable, "-c", command, "open", str(tmp_path / "work"), "--no-browser"),
            *("--history", str(tmp_path / "history.sqlite")),
        ],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        preexec_fn=heeds_interruption,
    )
    try:
        yield re.search(r"http://127\.0\.0\.1:\d+/", running.stdout.readline())[0]
    finally:
        running.send_signal(signal.SIGINT)
        _, said = running.communicate(timeout=60)
    told = "closed; photographs, settings and report are kept in the folder\n"
    assert (said, running.returncode) == (told, 0)


def put_to(page, name, setting):
    page.locator(".card-of", has_text=name).locator("input").check()
    page.locator("#setting").fill(setting)
    page.locator("#put").click()
    shelf = page.locator(".shelf", has_text=name)
    playwright.expect(shelf.locator("h3 bdi")).to_have_text(setting)


def test_from_drop_to_report(address, open_page, tmp_path):
    page = open_page(address, address, viewport=DESKTOP)
    captures = {f"{s}_a.jpg": SAMPLES / s / "print1.jpg" for s in ("fast", "fine")}
    files = [
        [name, base64.b64encode(path.read_bytes()).decode()] for name, path in captures.items()
    ]
    page.evaluate(DROP, [page.locator("#drop").element_handle(), files])
    playwright.expect(page.locator("#taken")).to_have_text("2 photographs taken in")
    for name in captures:
        fitness = page.locator(".card-of", has_text=name).locator(".fitness b")
        playwright.expect(fitness).to_contain_text(re.compile("Fit|Cannot tell"))
    assert page.locator("#run").is_disabled()
    put_to(page, "fast_a.jpg", "fast")
    put_to(page, "fine_a.jpg", WILD)
    page.locator("#run").click()
    page.locator("#outcome").wait_for()

    work = tmp_path / "work"
    result = json.loads((work / "dotloupe_workbench/report/data/result.json").read_text("utf-8"))
    digests = {p.name: hashlib.sha256(p.read_bytes()).hexdigest() for p in work.glob("*.jpg")}
    told = {
        setting: {Path(shot["path"]).name: shot["sha256"] for shot in shots}
        for setting, shots in result["captures"].items()
    }
    assert told == {
        "fast": {"fast_a.jpg": digests["fast_a.jpg"]},
        WILD: {"fine_a.jpg": digests["fine_a.jpg"]},
    }
    for name, source in captures.items():
        assert (work / name).read_bytes() == source.read_bytes()

    said = page.locator("#said").inner_text()
    report = open_page(
        address + page.locator("#report").get_attribute("href"), address, viewport=DESKTOP
    )
    assert said == report.locator(".verdict").inner_text()
    report.locator("#stage[data-settled='1']").wait_for()
    assert set(report.locator(".standing .name").all_inner_texts()) == {"fast", WILD}
    look_over(address, open_page)


def look_over(address, open_page):
    """Both widths, light and dark: nothing over the side, nothing that keeps anyone out."""
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="no axe installed")
    for viewport, scheme in ((DESKTOP, "light"), (PHONE, "dark")):
        page = open_page(address, address, viewport=viewport, color_scheme=scheme, bypass_csp=True)
        page.locator("body[data-settled=true]").wait_for()
        assert page.evaluate("document.documentElement.scrollWidth") <= viewport["width"]
        found = axe.Axe().run(page).response["violations"]
        assert [(v["id"], v["nodes"][0]["html"]) for v in found if v["impact"] in GRAVE] == []


def test_a_region_is_drawn_on_a_photograph_of_an_own_picture(
    address, open_page, own_picture, tmp_path
):
    sent, photographs = own_picture
    place = tmp_path / "work" / "sharp"
    place.mkdir()
    shutil.copy(photographs["sharp"][0], place)
    page = open_page(address, address, viewport=DESKTOP)
    page.locator("#picture-file").set_input_files(sent)
    drawn_on = page.locator("#on-capture img")
    drawn_on.wait_for()
    drawn_on.evaluate("image => image.decode()")
    drawn_on.evaluate("image => image.scrollIntoView({block: 'center', behavior: 'instant'})")
    box = drawn_on.bounding_box()
    page.mouse.move(box["x"] + 0.62 * box["width"], box["y"] + 0.66 * box["height"])
    page.mouse.down()
    page.mouse.move(box["x"] + 0.84 * box["width"], box["y"] + 0.86 * box["height"], steps=4)
    page.mouse.up()
    page.locator("input[name=kind][value=tone]").check()
    # the same rectangle in figures, for those who cannot draw it
    sides = [float(page.locator(f"#{s}").input_value()) for s in ("left", "top", "right", "bottom")]
    assert sides == pytest.approx([62, 66, 84, 86], abs=0.5)
    page.locator("#mark").click()
    playwright.expect(page.locator("#mark-status")).to_contain_text("number 1 on the picture")
    assert page.locator("#marks li").count() == 1
    notes = json.loads((tmp_path / "work/dotloupe_workbench/notes.json").read_text("utf-8"))
    scale, (_, move) = 2.5, photographs["sharp"]
    wide = round(scale * 400) + 80
    left = (0.62 * wide - move[0, 2]) / scale
    # to a pixel of the page
    assert notes["marks"][0]["left"] == pytest.approx(left, abs=2)
    page.locator("#marks button").click()
    playwright.expect(page.locator("#marks li")).to_have_count(0)


def test_folders_come_in_whole_and_photographs_leave(address, open_page, tmp_path, jpeg):
    """Two folders of same-named files, and a third below them; one photograph is removed."""
    given = tmp_path / "given"
    folders = ("a/raw/", "b/raw/", "fine/", "")
    files = [*(f"{folder}print1.jpg" for folder in folders), "fine/notes.txt"]
    for number, name in enumerate(files):
        (given / name).parent.mkdir(parents=True, exist_ok=True)
        (given / name).write_bytes(jpeg(number))
    page = open_page(address, address, viewport=DESKTOP)
    page.locator("#folder").set_input_files(given)
    playwright.expect(page.locator("#taken")).to_have_text(
        "4 photographs taken in; 1 other file passed over"
    )
    work = tmp_path / "work"
    taken = {p.relative_to(work).as_posix() for p in work.glob("*/*.jpg")}
    assert taken == {
        "given a raw/print1.jpg",
        "given b raw/print1.jpg",
        "fine/print1.jpg",
        "given/print1.jpg",
    }
    page.locator("body[data-settled=true]").wait_for()
    # no marks in an even sheet: said once, by the finding
    assert "no marks found" not in page.locator("#shelves").inner_text()

    page.locator(".shelf", has_text="fine").locator("input").check()
    page.locator("#leave").click()
    left = page.locator(".shelf", has_text="Left out of the comparison")
    assert (work / "fine/print1.jpg").is_file()
    left.get_by_role("button", name="Delete this copy").click()
    playwright.expect(left).to_have_count(0)
    assert not (work / "fine/print1.jpg").exists()
    assert (given / "fine/print1.jpg").is_file()


def test_patches_are_written_and_history_kept(address, open_page, tmp_path):
    work, history = tmp_path / "work", tmp_path / "history.sqlite"
    for setting in ("before", "after"):
        (work / setting).mkdir()
        source = SAMPLES.parent / "alignment" / setting / "print1.jpg"
        shutil.copy(source, work / setting)
    page = open_page(address, address, viewport=DESKTOP)
    page.locator("body[data-settled=true]").wait_for()
    page.locator("#printing summary").click()
    page.locator("#sheet-ppi").fill("300")
    page.locator("#sheet-run").fill("4")
    page.get_by_role("button", name="Write patches").click()
    playwright.expect(page.locator("#sheets a")).to_have_count(3)
    assert page.locator("#sheet-run").input_value() == "7"
    with page.expect_download() as saved:
        page.locator("#sheets a").first.click()
    name = "run4_300ppi_detail.tif"
    assert saved.value.suggested_filename == name
    own = work / "dotloupe_workbench" / "sheets" / name
    assert Path(saved.value.path()).read_bytes() == own.read_bytes()

    page.locator("#track-setting").select_option("after")
    for noun, value in (("printer", "desk"), ("paper", WILD), ("mode", "fast")):
        page.locator(f"#track-{noun}").fill(value)
    page.locator("#track").click()
    page.locator("#track-outcome").wait_for()
    assert history.is_file()
    said = page.locator("#track-said").inner_text()
    assert "desk" in said
    link = page.locator("#history-report").get_attribute("href")
    report = open_page(address + link, address, viewport=DESKTOP)
    assert report.locator(".verdict").inner_text() == said
    look_over(address, open_page)


def test_keyboard_alone_reaches_everything(address, open_page):
    page = open_page(address, address, viewport=DESKTOP)
    page.locator("body[data-settled]").wait_for()
    reached = []
    for _ in range(30):
        page.keyboard.press("Tab")
        reached.append(page.evaluate("document.activeElement.id"))
    controls = {"sheet-kind", "files", "folder", "picture-file", "track-printer", "track"}
    assert controls <= set(reached)
