"""What cannot be framed or prepared is refused in one line that names its file."""

import json

import numpy as np
import pytest
import tifffile
from PIL import Image
from skimage import data

from dotloupe.cli import prepare, sheet
from dotloupe.errors import InputError

FREQUENCY = [0.0, 1.0, 2.0, 3.0]
WIDTH_MM = 29


def result(path, *photographs, camera="taken out"):
    """What `measure --json` writes of (sent ppi, response at the highest frequency)."""
    captures = []
    for ppi, last in photographs:
        curve = {"frequency": FREQUENCY, "response": [1, 0.95, 0.9, last], "error": [0.01] * 4}
        captures.append({"sent_ppi": ppi, "camera": camera, "response": {"x": curve, "y": curve}})
    path.write_text(json.dumps(captures))


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """Pictures and results, good and bad."""
    monkeypatch.chdir(tmp_path)
    pixels = np.asarray(data.astronaut())
    tifffile.imwrite("whole.tif", pixels, photometric="rgb")
    tifffile.imwrite("strip.tif", pixels[:100], photometric="rgb")
    tifffile.imwrite("cmyk.tif", np.dstack([pixels, pixels[..., :1]]), photometric="separated")
    Image.fromarray(pixels).convert("CMYK").save("cmyk.jpg")
    tifffile.imwrite("float.tif", (pixels / 255).astype(np.float32), photometric="rgb")
    result(tmp_path / "other_ppi.json", (600, 0.6))
    result(tmp_path / "two_printers.json", (360, 0.6), (360, 0.2))
    result(tmp_path / "with_camera.json", (360, 0.6), camera="included")
    (tmp_path / "other.json").write_text("{}")
    return tmp_path


def framed(picture, *more, at="0,0"):
    given = ["--picture", picture, "--print-width-mm", str(WIDTH_MM), "--frame-mm", at, "--ppi",
             "360", "--run", "1", "--out", "out.tif", *more]  # fmt: skip
    sheet.run(sheet.parser().parse_args(given))


def prepared(picture, *more):
    given = [picture, "--print-width-mm", str(WIDTH_MM), "--ppi", "360", "--out", "out.tif", *more]
    prepare.run(prepare.parser().parse_args(given))


def refusal(made, *given, **options):
    """The line of a refusal."""
    with pytest.raises(InputError) as refused:
        made(*given, **options)
    line = str(refused.value)
    assert "\n" not in line
    return line


@pytest.mark.parametrize(
    ("picture", "at", "words"),
    [("strip.tif", "0,0", "smaller than the frame"), ("whole.tif", "5,0", "up to 0,16")],
)
def test_frames_that_do_not_fit(folder, picture, at, words):
    line = refusal(framed, picture, at=at)
    assert line.startswith(f"{picture}: ")
    assert words in line
    assert not (folder / "out.tif").exists()


@pytest.mark.parametrize("made", [framed, prepared])
@pytest.mark.parametrize(
    ("picture", "words"),
    [("cmyk.tif", "RGB"), ("cmyk.jpg", "RGB"), ("float.tif", "8 or 16 bits"), ("no.tif", "no.tif")],
)
def test_pictures_that_cannot_be_read(folder, made, picture, words):
    line = refusal(made, picture)
    assert line.startswith(f"{picture}: ")
    assert words in line
    assert not (folder / "out.tif").exists()


@pytest.mark.parametrize("made", [framed, prepared])
@pytest.mark.parametrize(
    ("file", "words"),
    [
        ("other_ppi.json", "600"),
        ("two_printers.json", "one printer"),
        ("with_camera.json", "--camera"),
        ("other.json", "measure --json"),
    ],
)
def test_results_of_another_kind(folder, made, file, words):
    line = refusal(made, "whole.tif", "--sharpen-for", file)
    assert line.startswith(f"{file}: ")
    assert words in line
    assert not (folder / "out.tif").exists()


@pytest.mark.parametrize("made", [framed, prepared])
def test_no_profile_is_said_in_one_line(folder, made, capsys):
    made("whole.tif")
    said = "".join(capsys.readouterr())
    assert said.count("sRGB was assumed") == 1
    assert (folder / "out.tif").exists()
