"""Photographs of one's own picture checked before they are measured: three outcomes (simulated)."""

import re
from dataclasses import replace

import numpy as np
import pytest
import tifffile
from command_line import dotloupe
from PIL import Image
from skimage import data

from dotloupe.evaluate.cautions import PrintedSizeUnknown
from dotloupe.report.text.cautions import caution_text
from dotloupe.session.checking import check_file
from dotloupe.session.measuring import measure_file
from dotloupe.session.options import RunOptions
from dotloupe.session.own_picture_option import OwnPictureFile

PPI = 300.0
WIDTH_MM = 512 / PPI * 25.4
NEAR, FAR = 3.0, 1.2
"""Camera pixels a picture pixel."""


@pytest.fixture(scope="session")
def files(picture, photographed, tmp_path_factory):
    """The picture that was sent, and photographs of its print, by name."""
    folder = tmp_path_factory.mktemp("checked")
    Image.fromarray(data.immunohistochemistry()).save(folder / "sent.png")
    Image.fromarray(data.coffee()).save(folder / "other.png")
    sent = replace(picture("immunohistochemistry"), ppi=PPI)
    near = photographed(sent, NEAR, 20.0, shape=(560, 720)).capture.pixels / 65535
    far = photographed(sent, FAR, -35.0, shape=(360, 480)).capture.pixels / 65535
    for name, light in (("near", near), ("far", far), ("clipped", np.clip(2.0 * near, 0, 1))):
        coded = np.round(255 * light ** (1 / 2.2)).astype(np.uint8)
        tifffile.imwrite(folder / f"{name}.tif", coded, photometric="rgb")
    return folder


def own(files, sent, width_mm=WIDTH_MM):
    return RunOptions(picture=OwnPictureFile(files / f"{sent}.png", width_mm))


@pytest.mark.parametrize(
    ("name", "scale", "verdict", "words"),
    [
        ("near", NEAR, "fit", ()),
        ("far", FAR, "fit, with a warning", ("3.5 lp/mm", "5.9", "closer")),
    ],
)
def test_fit_and_at_which_scale(files, name, scale, verdict, words):
    """The camera's scale to 1 %: the frame is a little in perspective, it is that of its middle."""
    path, options = files / f"{name}.tif", own(files, "sent")
    checked = check_file(path, options)[0]
    said = " ".join(checked.messages)
    assert checked.verdict == verdict
    assert all(word in said for word in words), said
    told = [float(number) for number in re.findall(r"\d+\.\d+", checked.place)]
    per_mm = scale * PPI / 25.4
    assert told[:3] == pytest.approx([scale, per_mm, per_mm / 4], rel=0.01, abs=0.05)
    # what the refinement leaves of simulated frames: a tenth of a picture pixel, noise included
    assert told[3] < 0.2


def test_what_is_warned_of_goes_with_the_measurement(files):
    """Without the width of the print: fit, with a warning, and in picture pixels."""
    path, options = files / "far.tif", own(files, "sent", None)
    checked, measured = check_file(path, options)[0], measure_file(path, options)[0]
    assert (checked.verdict, measured.fit) == ("fit, with a warning", True)
    assert PrintedSizeUnknown() in checked.cautions
    assert set(checked.messages) <= set(map(caution_text, measured.warnings))
    assert "0.30 line pairs per picture pixel" in checked.place


@pytest.mark.parametrize(
    ("name", "sent", "words"),
    [
        ("clipped", "sent", ("at full", "expose less")),
        ("far", "other", ("not found in the picture",)),
    ],
)
def test_not_fit_as_when_measured(files, name, sent, words):
    path, options = files / f"{name}.tif", own(files, sent)
    checked, measured = check_file(path, options)[0], measure_file(path, options)[0]
    assert (checked.verdict, measured.fit) == ("not fit", False)
    assert all(word in checked.messages[0] for word in words)
    assert measured.reasons == checked.fitness.reasons


def test_command_says_verdict_and_place(files):
    width = f"--print-width-mm={WIDTH_MM}"
    done = dotloupe("check", "near.tif", "--picture", "sent.png", width, cwd=files)
    assert (done.returncode, done.stderr) == (0, "")
    verdict, place = done.stdout.splitlines()
    assert verdict == "near.tif: fit"
    assert "found in the picture: 3.0" in place
    wrong = dotloupe("check", "near.tif", "--print-width-mm", 100, cwd=files)
    assert (wrong.returncode, wrong.stdout) == (2, "")
    assert "give the picture" in wrong.stderr
