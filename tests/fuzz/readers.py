"""What is fuzzed: each reader with a few small valid files to start from.

A reader may refuse what it is given with the library's own errors; anything else that it raises or
warns of is a failure.
"""

from __future__ import annotations

import hashlib
import json
import runpy
import sqlite3
import warnings
from collections.abc import Callable, Iterator
from contextlib import closing, suppress
from dataclasses import dataclass, replace
from datetime import date
from io import BytesIO
from pathlib import Path
from tempfile import gettempdir
from unittest.mock import patch
from zipfile import ZipFile

import numpy as np
import tifffile
from PIL import Image, ImageCms

from dotloupe.capture.loading import load_capture
from dotloupe.capture.reduced_file import write_reduced
from dotloupe.compare.history.printer_history import History
from dotloupe.compare.ranking.ranking import rank
from dotloupe.errors import DotloupeError
from dotloupe.measurement import Measurement
from dotloupe.number import Number
from dotloupe.session import opened_bundle, remeasuring as remeasure
from dotloupe.session.session_file import load_plan, planned_captures, setting_names

DNG = Path(__file__).parents[1] / "capture" / "test_raw_file.py"
PICTURE = np.random.default_rng(0).integers(0, 256, (66, 64, 3), dtype=np.uint8)
PICTURE[20:50, 20:50] //= 8
PLAN = """
printer = "desk"
paper = "lustre"
viewing_distance_mm = 350.0
sheet = {width_mm = 210, height_mm = 297}
[[runs]]
run = 1
ppi = 600
mode = "fast"
alignment = "before"
printed = 2026-03-12
captures = ["a/b?.[tT]if"]
[[runs]]
run = 2
ppi = 720
mode = "fine"
label = "second"
prints = [["a.jpg"], ["b.jpg"]]
"""


@dataclass(frozen=True)
class Reader:
    """A reader, valid files that it takes, and words that such files are made of."""

    read: Callable[[bytes], None]
    seeds: tuple[bytes, ...]
    words: tuple[str, ...] = ()


def refused(read: Callable[[bytes], None], content: bytes) -> bool:
    """Whether the reader refuses it with an error of the library's own."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        try:
            read(content)
        except DotloupeError as error:
            said = str(error)
        else:
            return False
    assert "\n" not in said
    assert said
    return True


def readers(folder: Path) -> dict[str, Reader]:
    """Every reader by its name, in an empty folder to write to."""
    return {
        "jpeg": Reader(_capture(folder / "a.jpg"), tuple(_jpegs())),
        "png": Reader(_capture(folder / "a.png"), tuple(_pngs())),
        "tiff": Reader(_capture(folder / "a.tif"), tuple(_tiffs(folder / "seed.tif"))),
        "raw": Reader(_capture(folder / "a.dng"), tuple(_raws(folder / "seed.dng"))),
        "phone": Reader(_capture(folder / "a.webp"), tuple(_phone_files())),
        "reduced": Reader(_capture(folder / "r.tif"), (_reduced(folder / "seed.tif"),)),
        "bundle": _bundle(folder),
        "session": Reader(_session(folder), (PLAN.encode(),), _words(PLAN)),
        "history": Reader(_history(folder), (_history_file(folder / "seed.sqlite"),)),
        "published": _published(folder),
    }


def _capture(path: Path) -> Callable[[bytes], None]:
    def read(content: bytes) -> None:
        path.write_bytes(content)
        capture = load_capture(path)
        assert capture.linear.dtype == np.float32
        assert np.isfinite(capture.linear).all()
        assert np.isfinite(capture.paper_level).all()
        assert capture.pixels.dtype in (np.uint8, np.uint16)
        assert capture.region(slice(0, 8), slice(0, 8)).shape == (8, 8, 3)

    return read


def _stored(kind: str, picture: np.ndarray, **how: object) -> bytes:
    kept = BytesIO()
    Image.fromarray(picture).save(kept, kind, **how)
    return kept.getvalue()


def _exif() -> Image.Exif:
    exif = Image.Exif()
    exif[271], exif[272], exif[274] = "Invented", "M1", 6
    exif[282], exif[296] = 1200.0, 2
    exif.get_ifd(0x8769)[33434] = 0.008
    return exif


def _jpegs() -> Iterator[bytes]:
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    yield _stored("jpeg", PICTURE, quality=60, exif=_exif())
    yield _stored("jpeg", PICTURE, quality=90, icc_profile=profile, subsampling=0)
    yield _stored("jpeg", PICTURE[..., 0], quality=40, progressive=True)


def _pngs() -> Iterator[bytes]:
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    flat = PICTURE // 64 * 64
    yield _stored("png", flat, exif=_exif())
    yield _stored("png", flat[..., 0], icc_profile=profile)
    yield _stored("png", flat[..., 0].astype(np.uint16) * 200)


def _tiffs(path: Path) -> Iterator[bytes]:
    flat = PICTURE // 64 * 64
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    for how in (
        {"compression": "zlib", "predictor": True},
        {"compression": "lzw", "rowsperstrip": 16, "iccprofile": profile},
        {"compression": None},
        {"compression": "jpeg"},
        {"compression": "packbits", "tile": (32, 32), "bigtiff": True},
    ):
        tifffile.imwrite(path, flat, photometric="rgb", metadata=None, **how)
        yield path.read_bytes()
    tifffile.imwrite(path, flat[..., 0].astype(np.uint16) * 200, byteorder=">")
    yield path.read_bytes()


def _phone_files() -> Iterator[bytes]:
    flat = PICTURE // 64 * 64
    yield _stored("webp", flat, lossless=True, exif=_exif())
    yield _stored("webp", flat, quality=50)
    yield _stored("avif", flat, quality=50, speed=10)


def _reduced(path: Path) -> bytes:
    Image.fromarray(PICTURE).save(path.with_suffix(".png"))
    capture = load_capture(path.with_suffix(".png"))
    write_reduced(capture, path, [(slice(10, 60), slice(10, 60))])
    return path.read_bytes()


def _bundle(folder: Path) -> Reader:
    """A whole bundle, or its manifest alone, which is then packed with what it names."""
    photograph = _reduced(folder / "seed.tif")
    row = {"file": "a/print1.tif", "sha256": hashlib.sha256(photograph).hexdigest()}
    manifest = json.dumps({"kind": "dotloupe bundle", "photographs": [row]}).encode()

    def packed(manifest: bytes) -> bytes:
        names = {row["file"]}
        with suppress(ValueError, LookupError, TypeError, RecursionError):
            names |= {str(r["file"]) for r in json.loads(manifest)["photographs"]}
        kept = BytesIO()
        with ZipFile(kept, "w") as into:
            into.writestr("manifest.json", manifest)
            for name in names:
                with suppress(ValueError):
                    into.writestr(name, photograph)
        return kept.getvalue()

    def read(content: bytes) -> None:
        whole = content if content.startswith(b"PK") else packed(content)
        (folder / "a.zip").write_bytes(whole)
        with opened_bundle(folder / "a.zip") as paths:
            assert all(path.parents[1].name == "a" for path in paths)
            assert all(path.is_relative_to(gettempdir()) for path in paths)

    return Reader(read, (packed(manifest), manifest), _words(manifest.decode()))


def _raws(path: Path) -> Iterator[bytes]:
    write_dng = runpy.run_path(str(DNG))["write_dng"]
    counts = (PICTURE[..., 0].astype(np.uint16) + 3) * 50
    yield write_dng(path, counts, orientation=6).read_bytes()
    yield write_dng(path, counts, pattern=None).read_bytes()
    yield write_dng(path, (PICTURE.astype(np.uint16) + 3) * 50, pattern=None).read_bytes()


def _session(folder: Path) -> Callable[[bytes], None]:
    place = folder / "session"
    (place / "a").mkdir(parents=True)
    for name in ("a.jpg", "b.jpg", "a/b1.tif"):
        (place / name).touch()

    def read(content: bytes) -> None:
        (place / "plan.toml").write_bytes(content)
        plan = load_plan(place / "plan.toml")
        assert len(setting_names(plan)) == len(plan.runs)
        assert planned_captures(plan)

    return read


def measurement(path: Path, sha256: str, value: float) -> Measurement:
    """Stand for a photograph that was measured."""
    numbers = {
        name: Number(value, value - 0.1, value + 0.1, unit)
        for name, unit in (
            ("detail_x", "cycles/mm"),
            ("detail_y", "cycles/mm"),
            ("grain", "L* rms"),
        )
    }
    return Measurement(str(path), sha256, path.stem, 1, 600.0, True, (), (), numbers)


def _history_file(path: Path) -> bytes:
    history = History(path)
    shots = [measurement(Path(f"{n}.jpg"), n, 4.0) for n in "abc"]
    for day, shot in enumerate(shots, start=10):
        history.add(shot, printer="p", paper="q", mode="m", printed_on=date(2026, 3, day))
    history.add_event("alignment", printer="p", happened_on="2026-03-12", note="a note")
    with closing(sqlite3.connect(path, isolation_level=None)) as small:
        small.execute("PRAGMA page_size = 512")
        small.execute("VACUUM")
    return path.read_bytes()


def _history(folder: Path) -> Callable[[bytes], None]:
    path = folder / "a.sqlite"

    def read(content: bytes) -> None:
        path.write_bytes(content)
        path.with_name("a.sqlite-journal").unlink(missing_ok=True)
        history = History(path)
        with suppress(DotloupeError):
            history.track("detail_x")
        with suppress(DotloupeError):
            history.export(folder / "export")
        history.add_event("move", printer="p", happened_on="2026-04-01")

    return read


def _published(folder: Path) -> Reader:
    place = folder / "published"
    place.mkdir()
    shots: dict[str, Measurement] = {}
    for number, name in enumerate("abcd"):
        path = place / f"{name}.jpg"
        path.write_bytes(name.encode())
        sha256 = hashlib.sha256(name.encode()).hexdigest()
        shots[path.name] = measurement(path, sha256, 4.0 + number / 10)
    four = list(shots.values())
    result = rank({"fast": four[:2], "fine": four[2:]}, viewing_distance_mm=350.0).to_dict()
    text = json.dumps(result)

    def read(content: bytes) -> None:
        (place / "published.json").write_bytes(content)
        published = remeasure.load_published(place / "published.json")
        with patch.object(
            remeasure,
            "measure_paths",
            lambda paths, *_, **__: [replace(shots[p.name], path=str(p)) for p in paths],
        ):
            remeasure.remeasure(published)

    return Reader(read, (text.encode(),), _words(text))


def _words(text: str) -> tuple[str, ...]:
    marks = '",[]{}=:-.'
    plain = "".join(" " if c in marks else c for c in text)
    further = (
        "[[",
        "]]",
        "1e999",
        "-1",
        "0",
        "null",
        "true",
        "NaN",
        "\\u0000",
        "../",
        "**",
        "999999999999999999999",
    )
    return tuple(sorted({w for w in plain.split() if len(w) < 30})) + further
