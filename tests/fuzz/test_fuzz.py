"""Every reader on damaged files, briefly: `fuzz.py` does it at length, and what it found stays."""

import runpy
from pathlib import Path

import pytest
from hypothesis import given, strategies as st

HERE = Path(__file__).parent
FUZZ = runpy.run_path(str(HERE / "fuzz.py"))
READERS = runpy.run_path(str(HERE / "readers.py"))
FOUND = sorted(p.name for p in FUZZ["FOUND"].iterdir())


@pytest.fixture(scope="module")
def readers(tmp_path_factory):
    found = READERS["readers"](tmp_path_factory.mktemp("readers"))
    assert tuple(found) == FUZZ["NAMES"]
    return found


@pytest.fixture(scope="module")
def refused():
    return READERS["refused"]


@st.composite
def damage(draw):
    """Places as shares of a file, and what is done there."""
    place = st.floats(0, 1, exclude_max=True)
    return [
        (
            draw(place),
            draw(st.sampled_from(("over", "cut", "end", "in"))),
            draw(st.binary(max_size=8)),
        )
        for _ in range(draw(st.integers(1, 4)))
    ]


def damaged(content, changes):
    data = bytearray(content)
    for share, how, written in changes:
        place = int(share * len(data))
        if how == "over":
            data[place : place + len(written)] = written
        elif how == "cut":
            del data[place : place + 4 * len(written)]
        elif how == "in":
            data[place:place] = written
        elif share > 0.3:
            del data[place:]
    return bytes(data)


@pytest.mark.parametrize("name", FUZZ["NAMES"])
def test_the_seeds_are_read(name, readers, refused):
    for seed in readers[name].seeds:
        assert not refused(readers[name].read, seed)


@pytest.mark.parametrize("name", FUZZ["NAMES"])
def test_a_damaged_file_is_read_or_refused(name, readers, refused):
    reader = readers[name]

    @given(number=st.integers(0, len(reader.seeds) - 1), changes=damage())
    def read(number, changes):
        refused(reader.read, damaged(reader.seeds[number], changes))

    read()


@pytest.mark.parametrize("name", FOUND)
def test_what_fuzzing_found_is_mended(name, readers, refused):
    reader = readers[name.partition("-")[0]]
    refused(reader.read, (FUZZ["FOUND"] / name).read_bytes())
