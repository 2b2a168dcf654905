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
    opened = opened_bench(opened_folder(tmp_path / "work"))
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
            if examined and state["comparison"]["state"] != "running":
                return state
            asyncio.run(asyncio.sleep(0.1))
        raise AssertionError("the workbench does not come to rest")

    return wait
