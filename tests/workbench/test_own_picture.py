"""Prints of an own picture at the workbench: taken in, marked once, compared."""

import json

import cv2
import pytest
from skimage import data

EDGE_BOX, TONE_BOX = (265, 40, 335, 140), (250, 270, 385, 385)


def shares(path, move, box):
    """A box of the picture as shares of a photograph's width and height."""
    rows, columns = cv2.imread(str(path), cv2.IMREAD_UNCHANGED).shape[:2]
    left, top, right, bottom = box
    across = [(move[0, 0] * x + move[0, 2]) / (columns - 1) for x in (left, right)]
    down = [(move[1, 1] * y + move[1, 2]) / (rows - 1) for y in (top, bottom)]
    return [across[0], down[0], across[1], down[1]]


def test_marked_once_and_measured_everywhere(client, bench, own_picture, settled):
    sent, photographs = own_picture
    for name, (path, _) in photographs.items():
        told = client.put(f"/photographs/{name}/{path.name}", content=path.read_bytes())
        assert told.is_success
    state = settled()
    assert [p["run"] for p in state["photographs"]] == [None, None]

    path, move = photographs["sharp"]
    asked = {"key": "sharp/sharp.png", "kind": "edge", "box": shares(path, move, EDGE_BOX)}
    refused = client.post("/mark", content=json.dumps(asked))
    assert refused.status_code == 400
    assert "picture that was sent first" in refused.json()["error"]

    taken = client.put("/picture/sent.png", content=sent.read_bytes())
    assert taken.json()["picture"]["pixels"] == [400, 400]
    assert client.get("/picture").content.startswith(b"\xff\xd8\xff")
    for kind, box in (("edge", EDGE_BOX), ("tone", TONE_BOX)):
        asked |= {"kind": kind, "box": shares(path, move, box)}
        state = client.post("/mark", content=json.dumps(asked)).json()
        mark = state["marks"][-1]
        found = [mark[side] for side in ("left", "top", "right", "bottom")]
        # found by content alone, to half a pixel of the picture
        assert found == pytest.approx(box, abs=0.5)
    # the printed width, where the file does not say it: 400 pixels at 300 ppi
    client.post("/width", content=json.dumps({"width_mm": 400 / 300 * 25.4}))

    assert client.post("/compare", content=json.dumps({"by": "setting"})).is_success
    state = settled()
    assert state["comparison"]["state"] == "done", state["comparison"]["message"]
    result = json.loads((bench.report / "data" / "result.json").read_text("utf-8"))
    for name in ("picture_kept_x", "response_x", "detail_x"):
        places = result["criteria"][name]["places"]
        assert [p["setting"] for p in places] == ["sharp", "soft"], name
    detail = {p["setting"]: p["value"] for p in result["criteria"]["detail_x"]["places"]}
    # blurs of 0.5 and 1.1 picture pixels; a Gaussian's MTF is half at 0.1874 / sigma. The cubic
    # enlargement and the sharpened pixel grid of the picture itself stay in it: a tenth.
    expected = 0.1874 / 1.1 * 300 / 25.4
    assert detail["soft"] == pytest.approx(expected, rel=0.1)
    assert len(result["criteria"]["grain"]["places"]) == 2
    assert client.get("/report/index.html").is_success

    assert client.post("/unmark", content='{"number": 0}').json()["marks"][0]["kind"] == "tone"
    state = client.delete("/picture").json()
    assert state["picture"] is None
    assert state["marks"] == []
    assert not list(bench.own.glob("picture.*"))


def test_a_picture_that_cannot_be_read_is_not_kept(client, bench):
    answer = client.put("/picture/sent.png", content=b"\x89PNG\r\n\x1a\n" + bytes(200))
    assert answer.status_code == 400
    assert client.get("/state").json()["picture"] is None
    assert not list(bench.own.glob("picture.*"))


def test_a_picture_that_replaces_another_is_the_one_compared_with(
    client, own_picture, settled, tmp_path
):
    sent, photographs = own_picture
    for name, (path, _) in photographs.items():
        client.put(f"/photographs/{name}/{path.name}", content=path.read_bytes())
    other = tmp_path / "other.png"
    cv2.imwrite(str(other), data.astronaut())
    ended = []
    for picture in (sent, other):
        client.put("/picture/sent.png", content=picture.read_bytes())
        assert client.post("/compare", content=json.dumps({"by": "setting"})).is_success
        compared = settled()["comparison"]
        ended.append((compared["state"], compared["message"]))
    assert ended[0] == ("done", "")
    assert ended[1][0] == "failed"
    assert "is the picture sent" in ended[1][1]
