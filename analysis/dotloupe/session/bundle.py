"""A test packed into one file that others may measure: photographs reduced, numbers, a licence."""

from __future__ import annotations

import hashlib
import json
import tempfile
import zipfile
import zlib
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import TYPE_CHECKING, Any

from dotloupe.errors import InputError
from dotloupe.measurement import print_id
from dotloupe.session.measuring import measure_paths, read_capture, with_exposures
from dotloupe.session.options import DEFAULT_OPTIONS, RunOptions
from dotloupe.storage import as_text, cache, plain, program_version, whole

if TYPE_CHECKING:
    from dotloupe.measurement import Measurement

SUFFIX = ".zip"
KIND = "dotloupe bundle"
MANIFEST, LICENCE_FILE = "manifest.json", "LICENCE.txt"
LICENCES = {
    "CC0-1.0": "https://creativecommons.org/publicdomain/zero/1.0/",
    "CC-BY-4.0": "https://creativecommons.org/licenses/by/4.0/",
    "CC-BY-SA-4.0": "https://creativecommons.org/licenses/by-sa/4.0/",
}
"""Open licences, by their SPDX identifiers."""
AROUND_MM = 3.0
"""Paper kept around a patch, by which its light is judged."""
OF_DAMAGE = (
    zipfile.BadZipFile,
    zlib.error,
    ValueError,
    LookupError,
    TypeError,
    EOFError,
    RuntimeError,
    NotImplementedError,
    OSError,
)
"""What the libraries raise on a packed file that is damaged or is none."""
MOST_FILES, MOST_BYTES, MOST_MANIFEST_BYTES = 10_000, 2**33, 2**29
"""Of a bundle, unpacked."""


@dataclass(frozen=True)
class Bundled:
    """What was packed.

    Attributes
    ----------
    path : Path
    files : mapping of str to str
        Name in the bundle of each photograph, by its path.
    left_out : tuple of str
        Paths of photographs without a patch that can be measured.
    changed : float
        Largest change of a number by the reduction, in half-widths of its 95 % interval.
    size_bytes : int
    """

    path: Path
    files: Mapping[str, str]
    left_out: tuple[str, ...]
    changed: float
    size_bytes: int


def pack_bundle(
    settings: Mapping[str, Sequence[Path]],
    target: Path,
    *,
    licence: str,
    note: str = "",
    options: RunOptions = DEFAULT_OPTIONS,
) -> Bundled:
    """Pack the photographs of settings, reduced to their patches, with their numbers.

    The reduced photographs are measured again; those numbers are packed, and how far they are from
    the originals' is told.

    Parameters
    ----------
    settings : mapping of str to sequence of Path
        Their names go into the bundle, names of files do not.
    target : Path
        Of the bundle.
    licence : str
        One of `LICENCES`, as the owner of the photographs chose.
    note : str
        For those who open it.
    options : RunOptions

    Raises
    ------
    InputError
        No photograph shows a patch, or the bundle cannot be written.
    """
    paths = [path for group in settings.values() for path in group]
    before = _by_path(measure_paths(paths, options))
    files = {path: name for path, name in _names(settings).items() if _shows_patch(before[path])}
    if not files:
        raise InputError(
            "no photograph shows a patch that can be measured; `dotloupe check` says why"
        )
    with tempfile.TemporaryDirectory() as scratch:
        home = Path(scratch)
        chosen = with_exposures(paths, options)
        for path, name in files.items():
            _reduce(path, before[path], home / name, chosen)
        reduced = [home / name for name in files.values()]
        after = _by_path(measure_paths(reduced, RunOptions(progress=options.progress)))
        rows = [_row(home, name, after[home / name]) for name in files.values()]
        told = {
            "kind": KIND,
            "version": program_version(),
            "licence": licence,
            "note": note,
            "photographs": rows,
        }
        with whole(target) as part:
            _write(part, home, json.dumps(told, indent=1, allow_nan=False), licence)
    changed = (_changed(before[path], after[home / name]) for path, name in files.items())
    left_out = tuple(str(path) for path in paths if path not in files)
    said = {str(path): name for path, name in files.items()}
    return Bundled(target, said, left_out, max(changed), target.stat().st_size)


def is_bundle(path: Path) -> bool:
    """Whether a path is named as a bundle is."""
    return path.suffix.lower() == SUFFIX


@contextmanager
def opened_bundle(path: Path) -> Iterator[list[Path]]:
    """Unpack a bundle for as long as it is read, each photograph checked by its hash.

    Yields
    ------
    list of Path
        Its photographs, in folders named after their settings.

    Raises
    ------
    InputError
        It is no bundle, damaged, or too large.
    """
    with tempfile.TemporaryDirectory() as scratch:
        home = Path(scratch) / path.stem
        try:
            with zipfile.ZipFile(path) as packed:
                found = [_unpacked(packed, row, home, path) for row in _rows(packed, path)]
        except InputError:
            raise
        except FileNotFoundError as error:
            raise InputError(f"{path}: no such file; check the path") from error
        except OF_DAMAGE as error:
            raise _damaged(path) from error
        yield found


def _by_path(measured: Iterator[Measurement]) -> dict[Path, list[Measurement]]:
    found = defaultdict(list)
    for m in measured:
        found[Path(m.path)].append(m)
    return found


def _shows_patch(measured: Sequence[Measurement]) -> bool:
    return any(m.fit and m.registration is not None and m.registration.patch for m in measured)


def _names(settings: Mapping[str, Sequence[Path]]) -> dict[Path, str]:
    """Names within the bundle: prints are numbered, shots of one print keep their number.

    A bundle is unpacked on systems that take letters of both cases for one, and that keep some
    names for devices.
    """
    names: dict[Path, str] = {}
    folders: set[str] = set()
    for number, (setting, paths) in enumerate(settings.items(), start=1):
        plain_name = "".join(c if c.isalnum() or c in " -_" else "_" for c in as_text(setting))
        folder = plain_name.strip() or f"setting{number}"
        if folder.casefold() in folders or PureWindowsPath(folder).is_reserved():
            folder = f"{folder} {number}"
        folders.add(folder.casefold())
        prints: dict[str, int] = {}
        shots: Counter[str] = Counter()
        for path in paths:
            shown = print_id(str(path))
            count = prints.setdefault(shown, len(prints) + 1)
            name = f"{folder}/print{count}{as_text(path.stem).removeprefix(shown)}"
            again = f" {shots[name] + 1}" if shots[name] else ""
            shots[name] += 1
            names[path] = f"{name}{again}.tif"
    return names


def _reduce(path: Path, shown: Sequence[Measurement], target: Path, options: RunOptions) -> None:
    from dotloupe.capture import write_reduced
    from dotloupe.registration import box_in_frame

    capture = read_capture(path, options)
    kept = []
    for m in shown:
        if m.registration is not None and m.registration.patch is not None:
            width, height = m.registration.patch.size_mm
            box = (-AROUND_MM, -AROUND_MM, width + AROUND_MM, height + AROUND_MM)
            kept.append(box_in_frame(capture, box, m.registration.homography))
    target.parent.mkdir(parents=True, exist_ok=True)
    write_reduced(capture, target, kept)


def _row(home: Path, name: str, measured: Sequence[Measurement]) -> dict[str, Any]:
    return {
        "file": name,
        "sha256": cache.file_digest(home / name),
        "bytes": (home / name).stat().st_size,
        "patches": [
            {"run": m.run, "sent_ppi": m.sent_ppi, "fit": m.fit, "numbers": plain(numbers_of(m))}
            for m in measured
        ],
    }


def numbers_of(m: Measurement) -> dict[str, Any]:
    """Every number of a measurement, as it stands in a bundle."""
    return {name: n.to_dict() for name, n in m.numbers.items()}


def _write(target: Path, home: Path, manifest: str, licence: str) -> None:
    said = f"{licence}\n{LICENCES[licence]}\n"
    with zipfile.ZipFile(target, "w", zipfile.ZIP_STORED) as packed:
        texts = {MANIFEST: manifest, LICENCE_FILE: said}
        for name, text in texts.items():
            packed.writestr(zipfile.ZipInfo(name), text)
        for file in sorted(home.rglob("*.tif")):
            with file.open("rb") as content:
                packed.writestr(zipfile.ZipInfo(file.relative_to(home).as_posix()), content.read())


def _changed(before: Sequence[Measurement], after: Sequence[Measurement]) -> float:
    """Largest change of a number, in half-widths of its interval; infinite where one is gone."""
    largest = 0.0
    again = {m.run: m for m in after}
    for m in before:
        if not m.fit:
            continue
        found = again[m.run].numbers if m.run in again else {}
        for name, number in m.numbers.items():
            if name not in found:
                return float("inf")
            half = max((number.high - number.low) / 2, 1e-12)
            largest = max(largest, abs(found[name].value - number.value) / half)
    return largest


def _rows(packed: zipfile.ZipFile, path: Path) -> list[dict[str, Any]]:
    if packed.getinfo(MANIFEST).file_size > MOST_MANIFEST_BYTES:
        raise _damaged(path)
    told = json.loads(packed.read(MANIFEST))
    if told["kind"] != KIND:
        raise InputError(f"{path}: no bundle of photographs; give one that `dotloupe bundle` wrote")
    rows: list[dict[str, Any]] = told["photographs"]
    if (
        len(rows) > MOST_FILES
        or sum(packed.getinfo(r["file"]).file_size for r in rows) > MOST_BYTES
    ):
        raise InputError(f"{path}: over {MOST_FILES} photographs or {MOST_BYTES / 2**30:g} GB")
    return rows


def _unpacked(packed: zipfile.ZipFile, row: Mapping[str, Any], home: Path, path: Path) -> Path:
    place = PurePosixPath(row["file"])
    outside = any(part == ".." or set(part) & set("/\\:") for part in place.parts)
    if len(place.parts) != 2 or outside or place.suffix != ".tif":
        raise _damaged(path)
    content = packed.read(row["file"])
    if hashlib.sha256(content).hexdigest() != row["sha256"]:
        raise _damaged(path)
    target = home.joinpath(*place.parts)
    target.parent.mkdir(parents=True, exist_ok=True)
    target.write_bytes(content)
    return target


def _damaged(path: Path) -> InputError:
    return InputError(f"{path}: no bundle, or damaged; copy it again")
