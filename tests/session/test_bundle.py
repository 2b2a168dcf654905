"""A bundle gives the numbers that it holds, and tells nothing of its owner."""

import hashlib
import json
import zipfile
from dataclasses import replace
from pathlib import Path, PureWindowsPath

import numpy as np
import pytest
from PIL import Image
from PIL.TiffImagePlugin import IFDRational

from dotloupe.capture import KEPT_SETTINGS, load_capture, write_reduced
from dotloupe.errors import InputError
from dotloupe.session import measure_paths
from dotloupe.session.bundle import LICENCES, _names, numbers_of, opened_bundle, pack_bundle

SAMPLES = Path(__file__).parents[2] / "sample_captures" / "quality"
SECRETS = ("Wilhelmina Quux", "Nowhere-upon-Sea", "SN00417733", "2031:02:03", "holiday_of_w")


@pytest.fixture(scope="module")
def signed(tmp_path_factory):
    """A sample whose EXIF names an owner, a place, a time and serial numbers."""
    folder = tmp_path_factory.mktemp("signed") / "fast"
    folder.mkdir()
    with Image.open(SAMPLES / "fast" / "print1.jpg") as sample:
        exif = sample.getexif()
        exif[315], exif[270] = SECRETS[0], SECRETS[1]
        exif[306] = f"{SECRETS[3]} 04:05:06"
        exif.get_ifd(0x8769).update(
            {42033: SECRETS[2], 33434: IFDRational(1, 100), 33437: IFDRational(56, 10)}
        )
        exif.get_ifd(0x8825).update({1: "N", 2: (12.0, 34.0, 56.0), 29: SECRETS[3]})
        sample.save(folder / f"{SECRETS[4]}.jpg", quality="keep", exif=exif.tobytes())
    return folder


@pytest.fixture(scope="module")
def bundle(signed, tmp_path_factory):
    target = tmp_path_factory.mktemp("packed") / "test.zip"
    paths = sorted(signed.iterdir())
    return pack_bundle({"fast": paths}, target, licence="CC0-1.0", note="an invented printer")


def rows_of(path):
    with zipfile.ZipFile(path) as packed:
        return json.loads(packed.read("manifest.json"))["photographs"]


def test_measuring_a_bundle_gives_its_numbers_to_the_last_bit(bundle):
    (row,) = rows_of(bundle.path)
    with opened_bundle(bundle.path) as paths:
        (again,) = measure_paths(paths, use_cache=False)
    assert json.loads(json.dumps(numbers_of(again))) == row["patches"][0]["numbers"]
    assert len(again.numbers) > 25


def test_the_reduction_changes_no_number_by_more_than_a_thousandth_of_its_interval(bundle):
    """A changed corner of blank paper may move the search for marks by a rounding, no more."""
    assert 0 <= bundle.changed < 1e-3


def test_nothing_tells_of_the_owner(bundle, signed):
    original = next(signed.iterdir()).read_bytes()
    assert all(secret.encode() in original for secret in SECRETS[:4])
    with zipfile.ZipFile(bundle.path) as packed:
        content = b"".join(packed.read(name) for name in packed.namelist())
        said = " ".join(packed.namelist()).encode() + content
    for secret in SECRETS:
        assert secret.encode() not in said
    with opened_bundle(bundle.path) as (path,):
        settings = load_capture(path).settings
    assert (settings.f_number, settings.exposure_s) == (5.6, 0.01)
    assert settings.taken == ""
    assert "taken" not in KEPT_SETTINGS


def test_every_shot_stays_with_its_print_and_every_setting_by_itself():
    paths = [Path(f"a/jane{n}_shot{k}.jpg") for n in (1, 2) for k in (1, 2, 3)]
    others = [Path("b/jane.jpg")], [Path("c/jane.jpg")]
    found = _names({"fast": paths, "a!": others[0], "a?": others[1]})
    shots = [f"fast/print{n}_shot{k}.tif" for n in (1, 2) for k in (1, 2, 3)]
    assert [found[path] for path in paths] == shots
    assert len(set(found.values())) == len(found)
    assert not any("jane" in name for name in found.values())


def test_a_bundle_unpacks_where_case_does_not_count_and_devices_have_names():
    files = [Path("a/print1.jpg"), Path("a/print1.png"), Path("a/Print1.tif")]
    settings = {"Fast": files[:1], "fast": [Path("b/print1.jpg")], "con": [Path("c/print1.jpg")]}
    names = list(_names(settings | {"fine": files}).values())
    assert len({name.casefold() for name in names}) == len(names)
    assert not any(PureWindowsPath(part).is_reserved() for n in names for part in n.split("/"))


def test_the_licence_that_the_owner_chose_is_in_it(bundle):
    with zipfile.ZipFile(bundle.path) as packed:
        assert LICENCES["CC0-1.0"] in packed.read("LICENCE.txt").decode()


def test_what_is_kept_is_kept_to_the_bit_and_all_else_is_paper(tmp_path):
    capture = load_capture(SAMPLES / "fast" / "print1.jpg")
    part = slice(100, 300), slice(200, 500)
    write_reduced(capture, tmp_path / "a.tif", [part])
    again = load_capture(tmp_path / "a.tif")
    assert np.array_equal(again.pixels[part], capture.pixels[part])
    assert np.array_equal(again.linear, capture.linear)
    assert np.array_equal(again.paper_level, capture.paper_level)
    assert again.warnings == capture.warnings
    outside = again.pixels[400:]
    assert np.array_equal(outside, np.broadcast_to(outside[0, 0], outside.shape))
    assert again.region(slice(400, 401), slice(0, 1)) == pytest.approx(1.0, abs=0.02)


@pytest.mark.parametrize(
    "spoil",
    [
        lambda files: files | {"manifest.json": b"{}"},
        lambda files: files | {"manifest.json": b'{"kind": "dotloupe bundle"}'},
        lambda files: {name: content[:-9] for name, content in files.items()},
        lambda files: {
            name: content.replace(b"fast/print1.tif", b"../../print.tif")
            for name, content in files.items()
        },
    ],
)
def test_a_spoilt_bundle_is_refused_in_a_line(bundle, tmp_path, spoil):
    with zipfile.ZipFile(bundle.path) as packed:
        files = {name: packed.read(name) for name in packed.namelist()}
    path = tmp_path / "spoilt.zip"
    with zipfile.ZipFile(path, "w") as packed:
        for name, content in spoil(files).items():
            packed.writestr(name, content)
    with pytest.raises(InputError, match=r"spoilt\.zip: ") as refused, opened_bundle(path):
        pass
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize("name", ["/print1.tif", "../print1.tif", "fast/..\\..\\a.tif", "C:/a.tif"])
def test_a_bundle_writes_nothing_outside_its_folder(tmp_path, name):
    content = b"anything"
    row = {"file": name, "sha256": hashlib.sha256(content).hexdigest()}
    with zipfile.ZipFile(tmp_path / "away.zip", "w") as packed:
        packed.writestr(
            "manifest.json", json.dumps({"kind": "dotloupe bundle", "photographs": [row]})
        )
        packed.writestr(name, content)
    with (
        pytest.raises(InputError, match="damaged"),
        opened_bundle(tmp_path / "away.zip") as paths,
    ):
        assert not paths


def test_a_test_without_a_patch_has_nothing_to_pack(tmp_path):
    Image.new("RGB", (400, 300), "white").save(tmp_path / "blank.png")
    with pytest.raises(InputError, match="no photograph shows a patch"):
        pack_bundle({"a": [tmp_path / "blank.png"]}, tmp_path / "t.zip", licence="CC0-1.0")


def test_a_reduced_file_cut_short_is_refused(tmp_path):
    capture = load_capture(SAMPLES / "fast" / "print1.jpg")
    small = replace(capture, pixels=capture.pixels[:90, :90])
    write_reduced(small, tmp_path / "a.tif", [(slice(0, 90), slice(0, 90))])
    content = (tmp_path / "a.tif").read_bytes()
    (tmp_path / "a.tif").write_bytes(content[: len(content) // 2])
    with pytest.raises(InputError, match="damaged or cut short"):
        load_capture(tmp_path / "a.tif")
