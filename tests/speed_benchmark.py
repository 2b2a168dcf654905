"""Prints what measuring costs, as ratios, and keeps the table in speed_benchmark.txt beside it.

Run it with ``python tests/speed_benchmark.py [CAPTURES]`` where nothing else is running; CAPTURES
(40) is how many are measured in the runs over many, 400 for the memory of a large archive. The
photographs are simulated. Seconds are those of the processor, which other work on the machine
disturbs least; parts that are compared run one after the other. A frame of 50 megapixels takes two
minutes to simulate and is kept in the folder for temporary files.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import suppress
from dataclasses import dataclass
from functools import partial
from multiprocessing import get_context
from pathlib import Path
from resource import RUSAGE_CHILDREN, getrusage
from subprocess import DEVNULL
from typing import Any

import numpy as np

HERE = Path(__file__).parent
SAMPLES = HERE.parent / "sample_captures"
TABLE = HERE / "speed_benchmark.txt"
FRAME_PX = (8688, 5792)
PATCH_PER_MM = 204.0
"""Of a patch of 30 x 20 mm: half of the frame."""
TURNS = 3
FONTS = Path(tempfile.gettempdir()) / "dotloupe_speed" / "fonts"


@dataclass(frozen=True)
class Row:
    """One line of the table."""

    what: str
    reached: str
    aim: str = ""


def main() -> None:
    captures = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    folder = Path(tempfile.gettempdir()) / "dotloupe_speed"
    folder.mkdir(exist_ok=True)
    # For the processes started from here, where libraries read it as they are loaded.
    os.environ |= {f"{library}_NUM_THREADS": "1" for library in ("OMP", "OPENBLAS", "MKL")}
    # As where it is installed: pip leaves the package compiled.
    os.environ |= {
        "PYTHONDONTWRITEBYTECODE": "",
        "PYTHONPYCACHEPREFIX": str(folder / "compiled"),
    }
    package = HERE.parent / "analysis" / "dotloupe"
    subprocess.run([sys.executable, "-m", "compileall", "-q", str(package)], check=True)
    with TABLE.open("w", encoding="utf-8") as kept:
        for row in table(captures, folder):
            line = f"{row.what:<62} {row.reached:>12}   {row.aim}".rstrip()
            print(line, flush=True)
            print(line, file=kept, flush=True)


def table(captures: int, folder: Path) -> Iterator[Row]:
    yield Row("what", "reached", "aim")
    yield load_row("load before, over processors")
    yield from help_rows()
    jpeg, tiff, packed = large_frames(folder)
    yield from frame_rows(jpeg, tiff, packed)
    yield from sample_rows(jpeg)
    yield from many_rows(captures, folder / "many")
    yield from rank_rows(captures, folder / "many")
    yield from growth_rows()
    yield load_row("load after, over processors")


def load_row(what: str) -> Row:
    return Row(what, f"{os.getloadavg()[0]:.1f} / {os.cpu_count()}")


def large_frames(folder: Path) -> tuple[Path, Path, Path]:
    """A simulated photograph of 50 megapixels: JPEG of quality 95, TIFF of 16 bits, and packed."""
    import tifffile

    from dotloupe import Patch
    from dotloupe.simulate import FINE, Shot, photograph, print_picture, write_capture
    from dotloupe.simulate.camera import Camera

    patch = Patch(600, 1, "50 megapixels")
    drawn = patch.draw()
    name = hashlib.sha256(drawn.tobytes()).hexdigest()[:12]
    jpeg, packed, plain = (folder / f"{name}{end}" for end in (".jpg", "_packed.tif", ".tif"))
    if not (jpeg.exists() and packed.exists()):
        printed = print_picture(drawn, 600, mode=FINE, seed=1)
        camera = Camera(width_px=FRAME_PX[0], height_px=FRAME_PX[1])
        shot = Shot(pixels_per_mm=PATCH_PER_MM, jpeg_quality=95, seed=1)
        taken = photograph(printed, camera=camera, shot=shot)
        for path in (jpeg, packed):
            write_capture(path, taken)
    if not plain.exists():
        page = tifffile.TiffFile(packed).pages.first
        profile = page.tags["InterColorProfile"].value
        tifffile.imwrite(plain, page.asarray(), photometric="rgb", iccprofile=profile)
    return jpeg, plain, packed


def fresh(function: Callable[..., Any], *arguments: Any) -> Any:
    """Call a function in a process of its own."""
    with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as pool:
        return pool.submit(function, *arguments).result()


def help_rows() -> Iterator[Row]:
    with tempfile.TemporaryDirectory() as scratch:
        installed = Path(scratch) / "dotloupe"
        installed.write_text(_INSTALLED)
        started = {
            name: min(_children_s(command) for _ in range(12))
            for name, command in {
                "bare": [sys.executable, "-c", "pass"],
                "argparse": [sys.executable, "-c", "import argparse"],
                "help": [sys.executable, str(installed), "--help"],
            }.items()
        }
    ratio, library = (started[name] / started["bare"] for name in ("help", "argparse"))
    yield Row("dotloupe --help over the bare interpreter's start", f"{ratio:.1f}", "at most 4")
    yield Row("  for comparison: the import of the command library alone", f"{library:.1f}")


_COMMAND = "from dotloupe.cli import main; main()"
_INSTALLED = """\
import re
import sys
from dotloupe.cli import main
if __name__ == "__main__":
    sys.argv[0] = re.sub(r"(-script\\.pyw|\\.exe)?$", "", sys.argv[0])
    sys.exit(main())
"""
"""The script that pip writes for the command; newer ones do without `re`."""


def _children_s(command: list[str], **environment: str) -> float:
    before = getrusage(RUSAGE_CHILDREN)
    subprocess.run(command, check=True, stdout=DEVNULL, env=os.environ | environment)
    after = getrusage(RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def frame_rows(jpeg: Path, tiff: Path, packed: Path) -> Iterator[Row]:
    decode_s, jpeg_s, wall = fresh(decode_and_measure, jpeg)
    _, tiff_s, _ = fresh(decode_and_measure, tiff)
    ratio = jpeg_s / decode_s
    yield Row("50-megapixel JPEG, bare decode by OpenCV, s", f"{decode_s:.2f}")
    yield Row("  file to all numbers, s", f"{jpeg_s:.2f}")
    yield Row("  file to all numbers over the bare decode", f"{ratio:.1f}", "at most 4.5")
    yield Row("  the same by the clock", f"{wall:.1f}", "at most 3.0")
    command_s = min(measure_command_s(jpeg) for _ in range(TURNS))
    name = "  by the command in a fresh process, import included, over it"
    yield Row(name, f"{command_s / decode_s:.1f}")
    more = tiff_s - decode_s
    yield Row("16-bit TIFF of it, more than that decode, s", f"{more:.2f}", "at most 0.6")
    _, packed_s, _ = fresh(decode_and_measure, packed)
    yield Row("  packed without loss (deflate), s", f"{packed_s - decode_s:.2f}")
    for name, path in (("JPEG", jpeg), ("TIFF", tiff), ("packed TIFF", packed)):
        beyond = fresh(memory_beyond_image, path)
        yield Row(
            f"{name}: peak memory beyond the image, over its size", f"{beyond:.2f}", "at most 0.5"
        )
    for name, seconds in fresh(slowest_steps, jpeg):
        yield Row(f"  {name}, s", f"{seconds:.3f}")


def sample_rows(jpeg: Path) -> Iterator[Row]:
    """Whole commands on the sample captures by the clock, nothing kept from an earlier run."""
    decode_s = fresh(decode_clock_s, jpeg)
    for command, folder, aim in (("rank", "quality", "at most 5 s"), ("ladder", "ladder", "10 s")):
        places = sorted(place for place in (SAMPLES / folder).iterdir() if place.is_dir())
        count = len(list((SAMPLES / folder).rglob("*.jpg")))
        took_s = min(uncached_s(command, places) for _ in range(2))
        yield Row(f"{command} of {count} sample captures, nothing kept, s", f"{took_s:.1f}", aim)
        yield Row("  over the bare decode of 50 megapixels", f"{took_s / decode_s:.0f}")


def decode_clock_s(path: Path) -> float:
    import cv2

    cv2.setNumThreads(1)
    return min(_clock_s(lambda: cv2.imread(str(path), cv2.IMREAD_UNCHANGED)) for _ in range(TURNS))


def uncached_s(command: str, places: list[Path]) -> float:
    with tempfile.TemporaryDirectory() as scratch:
        # what matplotlib keeps of the machine's fonts is not ours
        env = os.environ | {"XDG_CACHE_HOME": scratch, "MPLCONFIGDIR": str(FONTS)}
        words = [command, *map(str, places), "--quiet", "--out", f"{scratch}/report"]
        run = [sys.executable, "-c", _COMMAND, *words]
        return _clock_s(lambda: subprocess.run(run, check=True, capture_output=True, env=env))


def _clock_s(function: Callable[[], Any]) -> float:
    start = time.perf_counter()
    function()
    return time.perf_counter() - start


def decode_and_measure(path: Path) -> tuple[float, float, float]:
    """Seconds of the processor for the decode and for everything, and their ratio by the clock.

    Each is the least of some turns.
    """
    import cv2

    from dotloupe.session.measuring import measure_file

    cv2.setNumThreads(1)
    decode, whole, clock = [], [], []
    for turn in range(TURNS + 1):
        t0, c0 = time.process_time(), time.perf_counter()
        cv2.imread(str(path), cv2.IMREAD_UNCHANGED)
        t1, c1 = time.process_time(), time.perf_counter()
        measured = measure_file(path)[0]
        t2, c2 = time.process_time(), time.perf_counter()
        assert measured.fit, measured.reasons
        if turn:
            decode.append(t1 - t0)
            whole.append(t2 - t1)
            clock.append((c2 - c1) / (c1 - c0))
    return min(decode), min(whole), min(clock)


def measure_command_s(path: Path) -> float:
    """Seconds of the processor that `dotloupe measure` takes, its worker's included."""
    with tempfile.TemporaryDirectory() as scratch:
        command = [sys.executable, "-c", _COMMAND, "measure", str(path), "--quiet"]
        return _children_s(command, XDG_CACHE_HOME=scratch)


def memory_beyond_image(path: Path) -> float:
    """Peak memory of measuring a file beyond its decoded pixels, over those; a warm process."""
    from dotloupe.capture.loading import load_capture
    from dotloupe.session.measuring import measure_file

    measure_file(SAMPLES / "quality" / "fine" / "print1.jpg")[0]
    size = load_capture(path).pixels.nbytes
    before = _memory_bytes("VmRSS")
    Path("/proc/self/clear_refs").write_text("5")
    assert measure_file(path)[0].fit
    return (_memory_bytes("VmHWM") - before) / size - 1


def _memory_bytes(field: str) -> int:
    for line in Path("/proc/self/status").read_text().splitlines():
        if line.startswith(f"{field}:"):
            return 1024 * int(line.split()[1])
    raise KeyError(field)


def slowest_steps(path: Path) -> list[tuple[str, float]]:
    """The five slowest steps of one file, least of some turns."""
    import cv2

    from dotloupe.capture.loading import load_capture
    from dotloupe.evaluate import elements
    from dotloupe.fitness.examination import examine
    from dotloupe.registration.registration import register
    from dotloupe.registration.view import view_of

    cv2.setNumThreads(1)
    least: dict[str, float] = {}

    def timed(name: str, function: Callable[[], Any]) -> Any:
        start = time.process_time()
        result = function()
        least[name] = min(time.process_time() - start, least.get(name, np.inf))
        return result

    def turn() -> None:
        capture = timed("reading the file", lambda: load_capture(path))
        registration = timed("registration", lambda: register(capture))
        view = timed("the light on the paper", lambda: view_of(capture, registration))
        edges = timed("edges", lambda: elements.measure_edges(view, None))
        timed("fitness", lambda: examine(view, edges.results))
        timed("bars", lambda: [elements.measure_bars(view, axis) for axis in elements.AXES])
        timed("tints", lambda: elements.measure_tints(view, None, 350.0))
        timed("single dots", lambda: elements.measure_dots(view))
        timed("texture", lambda: elements.measure_texture(view))
        timed("lines", lambda: elements.measure_placements(view))

    for _ in range(TURNS + 1):
        turn()
    return sorted(least.items(), key=lambda item: -item[1])[:5]


def many_captures(count: int, folder: Path) -> list[Path]:
    """The sample captures over and over, as files of their own in two folders."""
    shutil.rmtree(folder, ignore_errors=True)
    files = sorted((SAMPLES / "quality").rglob("*.jpg"))
    paths = []
    for n in range(count):
        source = files[n % len(files)]
        target = folder / source.parent.name / f"print{n}.jpg"
        target.parent.mkdir(parents=True, exist_ok=True)
        # A byte behind a JPEG's end makes it another file with the same picture.
        target.write_bytes(source.read_bytes() + n.to_bytes(2, "big"))
        paths.append(target)
    return paths


def many_rows(count: int, folder: Path) -> Iterator[Row]:
    paths = many_captures(count, folder)
    some = paths[: max(min(count, 40), 4)]
    one_s, one_cpu, each, _ = fresh(measure_all, some, 1)
    two_s, *_ = fresh(measure_all, some, 2)
    gain = one_s / two_s
    yield Row(
        f"throughput of two workers over one, {len(some)} captures", f"{gain:.2f}", "at least 1.8"
    )
    yield Row(
        "  seconds of the processor a capture of 4.4 megapixels", f"{one_cpu / len(some):.2f}"
    )
    third = max(len(each) // 3, 1)
    drift = 100 * (np.median(each[-third:]) / np.median(each[:third]) - 1)
    yield Row("time a capture takes, last third against the first, %", f"{drift:+.1f}", "within 5")
    few, all_of_them = (fresh(measure_all, part, 2)[3] for part in (paths[:10], paths))
    name = f"memory of a run over {count} captures over that of 10"
    yield Row(name, f"{all_of_them / few:.2f}", "flat")


def measure_all(paths: list[Path], workers: int) -> tuple[float, float, list[float], float]:
    """Seconds by the clock and of the processor, seconds between results, and peak memory.

    Those of the processor are of its workers.

    Nothing is kept of what was measured but its numbers, as `dotloupe measure` does.
    """
    from joblib.externals.loky import get_reusable_executor

    from dotloupe.session import measuring as session

    os.cpu_count = lambda: workers
    session.measure_file(paths[0])[0]
    start, cpu = time.perf_counter(), getrusage(RUSAGE_CHILDREN)
    last = start
    each, numbers, peak = [], [], 0
    for measured in session.measure_paths(paths, use_cache=False):
        assert measured.fit, measured.reasons
        numbers.append(measured.to_dict())
        peak = max(peak, _tree_bytes())
        now = time.perf_counter()
        each.append(now - last)
        last = now
    took_s = time.perf_counter() - start
    # Workers that wait for more work are waited for in turn when this process ends.
    get_reusable_executor().shutdown(kill_workers=True)
    used = getrusage(RUSAGE_CHILDREN)
    seconds = used.ru_utime + used.ru_stime - cpu.ru_utime - cpu.ru_stime
    return took_s, seconds, each, peak


def _tree_bytes() -> int:
    """Memory of this process and its children that they do not share."""
    total = 0
    for process in (os.getpid(), *_children(os.getpid())):
        try:
            lines = Path(f"/proc/{process}/smaps_rollup").read_text().splitlines()
        except OSError:
            continue
        total += sum(1024 * int(line.split()[1]) for line in lines if line.startswith("Pss:"))
    return total


def _children(process: int) -> list[int]:
    found = []
    # a thread or a process may end while it is looked at
    with suppress(OSError):
        for task in Path(f"/proc/{process}/task").iterdir():
            with suppress(OSError):
                found += [int(child) for child in (task / "children").read_text().split()]
    return found + [c for child in found for c in _children(child)]


def rank_rows(count: int, folder: Path) -> Iterator[Row]:
    paths = many_captures(min(count, 40), folder)
    settings = [str(place) for place in sorted({path.parent for path in paths})]
    command = [sys.executable, "-c", _COMMAND]
    with tempfile.TemporaryDirectory() as scratch:
        rank = [*command, "rank", *settings, "--quiet", "--out", scratch]
        first, again = (_children_s(rank, XDG_CACHE_HOME=scratch) for _ in range(2))
    name = f"rank of {len(paths)} captures, all kept, over the first run, %"
    yield Row(name, f"{100 * again / first:.1f}", "under 3")
    yield Row("  seconds of the processor for it, report included", f"{again:.1f}")
    with tempfile.TemporaryDirectory() as scratch:
        env = {"XDG_CACHE_HOME": scratch, "MPLCONFIGDIR": str(FONTS)}
        measure = [*command, "measure", *map(str, paths), "--quiet", "--json", f"{scratch}/all"]
        rank = [*command, "rank", *settings, "--quiet", "--out", f"{scratch}/report"]
        run = partial(subprocess.run, check=True, stdout=DEVNULL, env=os.environ | env)
        _, kept_s, page_s = (_clock_s(partial(run, words)) for words in (measure, measure, rank))
    name = f"page of {len(paths)} captures, by the clock beyond their measuring, s"
    yield Row(name, f"{page_s - kept_s:.1f}", "at most 5 s")


def growth_rows() -> Iterator[Row]:
    from scipy.special import ndtr

    from dotloupe import grain, slanted_edge

    chance = np.random.default_rng(1)
    sides = np.array([512, 1024, 2048])

    def edge(side: int) -> None:
        y, x = np.mgrid[:side, :side]
        across = x - side / 2 - 0.09 * (y - side / 2)
        slanted_edge(0.6 - 0.4 * ndtr(across / 3) + chance.normal(0, 0.01, x.shape), 80.0)

    def tint(side: int) -> None:
        grain(0.4 + chance.normal(0, 0.02, (side, side)), 80.0)

    pixels = sides.astype(float) ** 2
    aim = f"at most {_exponent(pixels, pixels * np.log(pixels)):.2f}"
    for name, measure in (("slanted edge", edge), ("grain", tint)):
        seconds = [min(_seconds(measure, int(side)) for _ in range(TURNS)) for side in sides]
        reached = _exponent(pixels, np.array(seconds))
        yield Row(f"exponent of the cost of {name} in pixels", f"{reached:.2f}", aim)


def _exponent(size: np.ndarray, cost: np.ndarray) -> float:
    return float(np.polyfit(np.log(size), np.log(cost), 1)[0])


def _seconds(function: Callable[[int], None], argument: int) -> float:
    start = time.process_time()
    function(argument)
    return time.process_time() - start


if __name__ == "__main__":
    main()
