"""What is taken into the folder, and that nothing outside it is read or written."""

import asyncio
import os

import pytest

from dotloupe.errors import InputError
from dotloupe.workbench.folder import (
    OWN,
    RefusedError,
    opened_folder,
    photographs,
    take_in,
    take_picture,
)


async def pieces(data, size=1000):
    for start in range(0, len(data), size):
        yield data[start : start + size]


def taken(root, name, data, **limits):
    return asyncio.run(take_in(root, name, pieces(data), **limits))


@pytest.fixture
def root(tmp_path):
    return opened_folder(tmp_path / "work")


def test_photographs_come_in_with_and_without_a_setting(root, jpeg):
    taken(root, "one.jpg", jpeg(1))
    taken(root, "fast/two.JPG", jpeg(2))
    found, outside = photographs(root)
    assert {key: one.folder for key, one in found.items()} == {
        "one.jpg": "",
        "fast/two.JPG": "fast",
    }
    assert outside == ()
    assert (root / "one.jpg").read_bytes() == jpeg(1)


@pytest.mark.parametrize(
    "name",
    [
        "../out.jpg",
        "a/../../out.jpg",
        "/etc/out.jpg",
        "a/b/out.jpg",
        "..\\out.jpg",
        ".hidden.jpg",
        "fast/.hidden.jpg",
        f"{OWN}/out.jpg",
        "a\0b.jpg",
        "a\nb.jpg",
        "",
        "a/",
        "x" * 300 + ".jpg",
    ],
)
def test_names_that_lead_elsewhere_are_refused(root, jpeg, name, tmp_path):
    with pytest.raises(RefusedError):
        taken(root, name, jpeg())
    assert [p.name for p in tmp_path.iterdir() if p.suffix != ".jpg"] == ["work"]
    assert not [p for p in root.rglob("*") if p.is_file()]


@pytest.mark.parametrize("name", ["page.html", "run.sh", "x.jpg.exe", "jpg"])
def test_other_kinds_are_refused_by_name(root, jpeg, name):
    with pytest.raises(RefusedError, match="not a photograph") as refused:
        taken(root, name, jpeg())
    assert refused.value.status == 415


def test_other_kinds_are_refused_by_content(root):
    with pytest.raises(RefusedError, match="whatever its name") as refused:
        taken(root, "page.jpg", b"<!doctype html>" * 100)
    assert refused.value.status == 415
    with pytest.raises(RefusedError, match="empty"):
        taken(root, "none.jpg", b"")
    assert list(root.iterdir()) == []


def test_too_large_is_refused_and_leaves_nothing(root, jpeg):
    with pytest.raises(RefusedError, match="larger than") as refused:
        taken(root, "one.jpg", jpeg(), most_bytes=500)
    assert refused.value.status == 413
    assert list(root.iterdir()) == []


def test_another_photograph_of_the_same_name_takes_a_free_one(root, jpeg):
    for seed in range(3):
        taken(root, "fast/one.jpg", jpeg(seed))
    # shots and exposures are found by their names, which stay joined
    for seed, name in enumerate(("one_shot1.jpg", "one_shot1_half.jpg"), start=3):
        taken(root, f"fast/{name}", jpeg(seed))
        taken(root, f"fast/{name}", jpeg(seed + 10))
    held = {p.name: p.read_bytes() for p in (root / "fast").iterdir()}
    assert held == {
        "one.jpg": jpeg(0),
        "one-2.jpg": jpeg(1),
        "one-3.jpg": jpeg(2),
        "one_shot1.jpg": jpeg(3),
        "one-2_shot1.jpg": jpeg(13),
        "one_shot1_half.jpg": jpeg(4),
        "one-2_shot1_half.jpg": jpeg(14),
    }
    # the darker exposure belongs to its photograph, and is not shown beside it
    assert {key.split("/")[1] for key in photographs(root)[0]} == {
        name for name in held if "half" not in name
    }


def test_names_that_come_in_at_once_overwrite_nothing(root, jpeg):
    async def both():
        results = (take_in(root, "one.jpg", pieces(jpeg(seed), 10)) for seed in (1, 2))
        return await asyncio.gather(*results, return_exceptions=True)

    found = asyncio.run(both())
    assert sum(isinstance(one, RefusedError) for one in found) <= 1
    held = [p.read_bytes() for p in root.iterdir()]
    assert len(held) == sum(not isinstance(one, RefusedError) for one in found)
    assert jpeg(1) in held or jpeg(2) in held


def test_what_is_there_stays(root, jpeg):
    taken(root, "one.jpg", jpeg(1))
    with pytest.raises(RefusedError, match=r"same photograph is here already, as one\.jpg"):
        taken(root, "fast/other.jpg", jpeg(1))
    assert [p.name for p in root.rglob("*") if p.is_file()] == ["one.jpg"]
    assert (root / "one.jpg").read_bytes() == jpeg(1)


def test_links_out_of_the_folder_are_left_alone(root, jpeg, tmp_path):
    secret = tmp_path / "secret.jpg"
    secret.write_bytes(jpeg(9))
    (tmp_path / "elsewhere").mkdir()
    (root / "link.jpg").symlink_to(secret)
    (root / "fast").symlink_to(tmp_path / "elsewhere")
    found, outside = photographs(root)
    assert found == {}
    assert set(outside) == {"link.jpg", "fast"}
    with pytest.raises(RefusedError, match="leads out"):
        taken(root, "fast/two.jpg", jpeg(2))
    assert taken(root, "link.jpg", jpeg(2)) == root / "link-2.jpg"
    assert list((tmp_path / "elsewhere").iterdir()) == []
    assert secret.read_bytes() == jpeg(9)
    # nor are the bytes outside compared with what comes in
    taken(root, "link.jpg", jpeg(9))


def test_the_picture_sent_goes_to_its_own_place(root, jpeg, tmp_path):
    path = asyncio.run(take_picture(root, "my work.jpg", pieces(jpeg())))
    assert path == root / OWN / "picture.jpg"
    assert photographs(root)[0] == {}
    with pytest.raises(RefusedError, match="TIFF, PNG or JPEG"):
        asyncio.run(take_picture(root, "frame.cr2", pieces(jpeg())))
    path.unlink()
    path.symlink_to(tmp_path / "outside.jpg")
    with pytest.raises(RefusedError, match="leads out"):
        asyncio.run(take_picture(root, "my work.jpg", pieces(jpeg())))
    assert not (tmp_path / "outside.jpg").exists()


def test_a_file_is_no_folder(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(InputError, match="a file, not a folder"):
        opened_folder(tmp_path / "file")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes on this system")
def test_pipes_are_no_photographs(root):
    os.mkfifo(root / "pipe.jpg")
    assert photographs(root)[0] == {}
