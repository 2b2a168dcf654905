"""Settings compared by photographs of one's own picture, without a mark."""

import json
from dataclasses import replace

import numpy as np
import pytest
import tifffile
from command_line import dotloupe
from PIL import Image
from skimage import data

from dotloupe import ladder, measure_capture, rank
from dotloupe.errors import InputError
from dotloupe.session.settings import by_sent_ppi, with_named_ppi

SHAPE = (560, 720)
BLURS_PX = {"sharp": 0.5, "soft": 0.8, "softer": 1.2}


@pytest.fixture(scope="session")
def shots(picture, photographed):
    """Two prints of three settings, each photographed at another turn."""
    sent = replace(picture("immunohistochemistry"), ppi=300.0)
    found = {}
    for number, (name, blur) in enumerate(BLURS_PX.items()):
        found[name] = [
            photographed(
                sent,
                3.0,
                40.0 * seed - 10,
                blur_px=(blur, blur),
                shape=SHAPE,
                grain=0.02,
                seed=10 * number + seed,
            ).capture
            for seed in range(2)
        ]
    return sent, found


@pytest.fixture(scope="session")
def measured(shots):
    sent, found = shots
    return {n: [measure_capture(c, picture=sent) for c in group] for n, group in found.items()}


def test_ranked_by_what_is_kept(measured):
    ranking = rank(measured)
    for name in ("picture_kept_x", "picture_kept_y", "response_x", "response_y", "overall"):
        assert [p.setting for p in ranking.criteria[name].places] == list(BLURS_PX)
    assert not ranking.criteria["detail_x"].places
    response = {p.setting: p.value for p in ranking.criteria["response_x"].places}
    # A Gaussian's |H| is half at sqrt(ln 2 / 2) / (pi sigma) (closed form).
    for name, blur in BLURS_PX.items():
        true = np.sqrt(np.log(2) / 2) / (np.pi * blur) * 300 / 25.4
        assert response[name] == pytest.approx(true, rel=0.04)


def test_ladder_names_its_ppi_by_folders(measured):
    named = with_named_ppi({"ppi300": measured["soft"], "at 600": measured["sharp"]})
    found = ladder(by_sent_ppi(m for group in named.values() for m in group))
    assert found.criterion == "picture_kept_x"
    assert list(found.sent_ppi) == [300, 600]
    assert found.detail[1] > found.detail[0]
    with pytest.raises(InputError, match="name their folder after the ppi"):
        with_named_ppi({"fast": measured["soft"]})


def test_command_ranks_by_a_picture(shots, tmp_path):
    sent, found = shots
    Image.fromarray(data.immunohistochemistry()).save(tmp_path / "sent.png")
    for name in ("sharp", "softer"):
        (tmp_path / name).mkdir()
        for number, capture in enumerate(found[name]):
            coded = np.round(255 * (capture.pixels / 65535) ** (1 / 2.2)).astype(np.uint8)
            tifffile.imwrite(tmp_path / name / f"print{number}.tif", coded, photometric="rgb")
    width = sent.shape[1] / 300 * 25.4
    of_picture = ("--picture", "sent.png", "--print-width-mm", width)
    arguments = ("sharp", "softer", *of_picture, "--json", "ranked.json", "--quiet")
    done = dotloupe("rank", *arguments, cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    criteria = json.loads((tmp_path / "ranked.json").read_text())["criteria"]
    places = criteria["picture_kept_x"]["places"]
    assert [p["setting"] for p in places] == ["sharp", "softer"]
    assert criteria["response_y"]["unit"] == "cycles/mm"
    assert (tmp_path / "dotloupe_report" / "index.html").is_file()
