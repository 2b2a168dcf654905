"""Fuzz every reader, guided by coverage: ``python tests/fuzz/fuzz.py [READER...] [--cases N]``.

Each reader runs in a process of its own. A case fails when anything but the library's own errors
comes out, when the process dies, after 10 s, or when it has grown by 1 GB. The file of a failure is
kept in the folder `found` beside this one, where the everyday tests read it from then on.
"""

from __future__ import annotations

import argparse
import os
import re
import resource
import struct
import subprocess
import sys
import tempfile
import zlib
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

NAMES = (
    "jpeg",
    "png",
    "tiff",
    "raw",
    "phone",
    "reduced",
    "bundle",
    "session",
    "history",
    "published",
)
FOUND = Path(__file__).parent / "found"
CASES, SEED = 10_000, 20261126
MOST_SECONDS, MOST_GROWTH_MB, LONGEST_BYTES = 10, 1024, 40_000
MEMORY = Path("/dev/shm")
MOST_MEGAPIXELS = "50"
"""Lower than a person's limit, so that a well-formed file may not grow by 1 GB."""
PNG_START = b"\x89PNG\r\n\x1a\n"


def fuzz(name: str, cases: int) -> tuple[str, bool]:
    """Fuzz one reader in a process of its own: a line that tells, and whether it held."""
    FOUND.mkdir(exist_ok=True)
    command = [sys.executable, __file__, "--inside", name, "--cases", str(cases)]
    ended = subprocess.run(command, capture_output=True, text=True, errors="replace", check=False)
    said = ended.stdout + ended.stderr
    told = re.search(r"stat::number_of_executed_units:\s*(\d+)", said)
    ran = told[1] if told else "?"
    covered = re.findall(r"cov: (\d+)", said)
    peak = re.search(r"stat::peak_rss_mb:\s*(\d+)", said)
    line = f"{name:10} {ran:>7} cases, {covered[-1] if covered else '?':>5} places covered"
    line += f", peak {peak[1] if peak else '?'} MB"
    held = ended.returncode == 0
    return line + (", none failed" if held else f", FAILED\n{said[-6000:]}"), held


def inside(name: str, cases: int) -> None:
    """Fuzz one reader in this process, until a case fails or all are done."""
    with tempfile.TemporaryDirectory(dir=MEMORY if MEMORY.is_dir() else None) as folder:
        _inside(name, cases, Path(folder))


def _inside(name: str, cases: int, folder: Path) -> None:
    import atheris

    from dotloupe.capture.size_limit import MOST_VARIABLE

    os.environ[MOST_VARIABLE] = MOST_MEGAPIXELS
    with atheris.instrument_imports(include=["dotloupe", "tifffile", "exifread", "PIL", "tomllib"]):
        import readers

        reader = readers.readers(folder)[name]
        for seed in reader.seeds:  # imports what is imported on first use
            readers.refused(reader.read, seed)

    def case(content: bytes) -> None:
        readers.refused(reader.read, content)

    corpus = folder / "corpus"
    corpus.mkdir()
    for number, seed in enumerate(reader.seeds):
        (corpus / f"seed{number}").write_bytes(seed)
    words = folder / "words"
    words.write_text("\n".join(['"\\x00"', *(f'"{_escaped(word)}"' for word in reader.words)]))
    start_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    options = [
        f"-runs={cases}",
        f"-seed={SEED}",
        f"-timeout={MOST_SECONDS}",
        f"-rss_limit_mb={start_mb + MOST_GROWTH_MB}",
        f"-max_len={LONGEST_BYTES}",
        f"-artifact_prefix={FOUND}/{name}-",
        f"-dict={words}",
        "-print_final_stats=1",
        str(corpus),
    ]
    further = {"custom_mutator": _changed_png} if name == "png" else {}
    atheris.Setup([sys.argv[0], *options], case, **further)
    atheris.Fuzz()


def _changed_png(content: bytes, most: int, seed: int) -> bytes:
    """Change a PNG; every other time its checksums are made right again, to get past them."""
    import atheris

    changed = atheris.Mutate(content, most)
    if seed % 2 or not changed.startswith(PNG_START):
        return bytes(changed)
    data, place = bytearray(changed), len(PNG_START)
    while place + 12 <= len(data):
        length = struct.unpack(">I", data[place : place + 4])[0]
        end = place + 8 + length
        if end + 4 > len(data):
            break
        data[end : end + 4] = struct.pack(">I", zlib.crc32(data[place + 4 : end]))
        place = end + 4
    return bytes(data)


def _escaped(word: str) -> str:
    return "".join(f"\\x{byte:02x}" for byte in word.encode())


def main() -> None:
    """Fuzz the readers named, or all, and print a line for each."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("readers", nargs="*", metavar="READER", help=f"of {', '.join(NAMES)}")
    parser.add_argument("--cases", type=int, default=CASES)
    parser.add_argument("--inside", choices=NAMES, help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.inside:
        inside(given.inside, given.cases)
        return
    held = True
    for name in given.readers or NAMES:
        line, well = fuzz(name, given.cases)
        print(line, flush=True)
        held &= well
    sys.exit(0 if held else 1)


if __name__ == "__main__":
    main()
