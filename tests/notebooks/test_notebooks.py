"""The lessons run from top to bottom, and are stored with the outputs that a run gives."""

import re

import nbformat
import pytest
from notebook_outputs import (
    NOTEBOOKS,
    alike,
    changes,
    code_cells,
    executed,
    outputs_of,
    texts,
)

# what the notebook machinery says of itself; the kernel's own warnings are in its outputs
pytestmark = [
    pytest.mark.filterwarnings("ignore::DeprecationWarning:jupyter_client"),
    pytest.mark.filterwarnings("ignore::DeprecationWarning:jupyter_core"),
    pytest.mark.filterwarnings("ignore::DeprecationWarning:zmq"),
    pytest.mark.filterwarnings("ignore::RuntimeWarning:zmq"),
]

LESSONS = (
    "how_the_numbers_are_made",
    "two_settings_ranked",
    "before_and_after_an_alignment",
    "detail_against_sent_ppi",
    "ones_own_photograph",
    "files_for_one_picture",
    "does_it_get_it_right",
)
FEWEST_PICTURES = 4
"""A lesson shows its steps; the shortest draws four figures."""
MOST_BYTES = 3_000_000
"""Of all lessons together: they are fetched with every checkout."""


def lesson(name):
    return nbformat.read(NOTEBOOKS / f"{name}.ipynb", as_version=4)


def test_every_notebook_is_tested():
    assert {path.stem for path in NOTEBOOKS.glob("*.ipynb")} == set(LESSONS)


@pytest.mark.parametrize("name", LESSONS)
def test_stored_whole_and_without_traces_of_the_run(name):
    notebook = lesson(name)
    nbformat.validate(notebook)
    assert set(notebook.metadata) == {"kernelspec"}
    assert not any(cell.metadata for cell in notebook.cells)
    counts = [cell.execution_count for cell in code_cells(notebook)]
    assert counts == list(range(1, len(counts) + 1))
    said = " ".join(text for text, _ in texts(notebook))
    assert not re.search(r"/(tmp|home|root|work|Users)/|[A-Z]:\\\\", said)


def test_stored_lessons_are_small():
    assert sum(path.stat().st_size for path in NOTEBOOKS.glob("*.ipynb")) < MOST_BYTES


def test_what_changes_an_output():
    table = "Detail    5.12  (4.9 to 5.4)\n  ─────── \n3 prints"
    assert alike(table, "Detail  5.13  (4.9 to 5.4)\n ─── \n3 prints\n")
    for other in ("Detail 5.3 (4.9 to 5.4) 3 prints", "Grain 5.12 (4.9 to 5.4) 3 prints"):
        assert not alike(table, other)
    assert not alike(table, table.replace("3 prints", "4 prints"))


@pytest.mark.parametrize("name", LESSONS)
def test_samples_are_called_simulated(name):
    words = " ".join(c.source for c in lesson(name).cells[:1] if c.cell_type == "markdown")
    assert "**simulated**" in words


@pytest.mark.parametrize("name", LESSONS)
def test_a_run_gives_what_is_stored(name):
    """Its texts and numbers, and as many pictures; `notebook_outputs.py` stores them anew."""
    run = executed(NOTEBOOKS / f"{name}.ipynb")
    outputs = outputs_of(run)
    # an error stops the run above; warnings come on standard error
    said = [o.text for o in outputs if o.output_type == "stream" and o.name == "stderr"]
    assert not said
    pictures = [o for o in outputs if "image/png" in o.get("data", {})]
    assert len(pictures) >= FEWEST_PICTURES
    assert changes(lesson(name), run) == []
