"""A folder at work, and a client that speaks to it as its own page does."""

import asyncio

import numpy as np
import pytest
from PIL import Image
from starlette.testclient import TestClient

from dotloupe.workbench.app import application
from dotloupe.workbench.bench import opened_bench
from dotloupe.workbench.folder import opened_folder
from dotloupe.workbench.guard import own_hosts

PORT = 4711
HOME = f"http://127.0.0.1:{PORT}"


@pytest.fixture
def bench(tmp_path):
    opened = opened_bench(opened_folder(tmp_path / "work"), tmp_path / "history.sqlite")
    yield opened
    opened.examiner.close()


@pytest.fixture
def client(bench):
    headers = {"Origin": HOME, "Sec-Fetch-Site": "same-origin"}
    return TestClient(application(bench, own_hosts(PORT)), base_url=HOME, headers=headers)


@pytest.fixture
def jpeg(tmp_path):
    """Bytes of a small photograph of an even sheet; another seed gives another."""

    def made(seed=0):
        pixels = np.full((80, 120, 3), 150 + seed, np.uint8)
        path = tmp_path / f"made{seed}.jpg"
        Image.fromarray(pixels).save(path)
        return path.read_bytes()

    return made


@pytest.fixture
def settled(client):
    """State once every photograph is examined and nothing runs."""

    def wait():
        for _ in range(1200):
            state = client.get("/state").json()
            examined = all(p["verdict"] for p in state["photographs"])
            jobs = (state["comparison"], state["tracking"])
            if examined and all(job["state"] != "running" for job in jobs):
                return state
            asyncio.run(asyncio.sleep(0.1))
        raise AssertionError("the workbench does not come to rest")

    return wait


SENT_SIDE_PX, PICTURE_PPI, PIXELS_PER_PICTURE_PX = 400, 300.0, 2.5


@pytest.fixture(scope="session")
def own_picture(tmp_path_factory):
    """An open picture with a straight edge and an even tone in it, and photographs of its print.

    No printer and no camera: blurred, enlarged, moved, with noise. The picture is one that
    scikit-image ships.
    """
    import cv2
    from skimage import data

    side = SENT_SIDE_PX
    sent = np.ascontiguousarray(data.coffee()[:side, :side])
    y, x = np.mgrid[:side, :side]
    edge = (x >= 250) & (x < 350) & (y >= 20) & (y < 160)
    sent[edge] = np.where(x < 300 + 0.09 * (y - 90), 70, 190)[edge][:, None]
    sent[(x >= 240) & (x < 400) & (y >= 260) & (y < 410)] = 128
    folder = tmp_path_factory.mktemp("own")
    Image.fromarray(sent).save(folder / "sent.png", dpi=(PICTURE_PPI, PICTURE_PPI))
    scale, photographs = PIXELS_PER_PICTURE_PX, {}
    for number, (name, blur) in enumerate((("sharp", 0.5), ("soft", 1.1))):
        light = (cv2.GaussianBlur(sent, (0, 0), blur) / 255.0) ** 2.2
        move = np.array([[scale, 0, 30 + 7 * number], [0, scale, 25 - 5 * number]])
        size = (round(scale * side) + 80, round(scale * side) + 70)
        seen = cv2.warpAffine(light, move, size, flags=cv2.INTER_CUBIC, borderValue=(1, 1, 1))
        grain = np.random.default_rng(number).standard_normal(seen.shape[:2])
        seen = 0.85 * seen * (1 + 0.06 * cv2.GaussianBlur(grain, (0, 0), 1.0))[..., None]
        coded = np.round(65535 * np.clip(seen, 0, 1) ** (1 / 2.2)).astype(np.uint16)
        cv2.imwrite(str(folder / f"{name}.png"), coded[..., ::-1])
        photographs[name] = (folder / f"{name}.png", move)
    return folder / "sent.png", photographs
