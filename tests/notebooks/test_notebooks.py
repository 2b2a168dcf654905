"""The lessons run from top to bottom, and are committed without the outputs of an earlier run."""

from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient

# what the notebook machinery says of itself; the kernel's own warnings are in its outputs
pytestmark = [
    pytest.mark.filterwarnings("ignore::DeprecationWarning:jupyter_client"),
    pytest.mark.filterwarnings("ignore::DeprecationWarning:jupyter_core"),
    pytest.mark.filterwarnings("ignore::DeprecationWarning:zmq"),
    pytest.mark.filterwarnings("ignore::RuntimeWarning:zmq"),
]

NOTEBOOKS = Path(__file__).parents[2] / "notebooks"
LESSONS = (
    "how_the_numbers_are_made",
    "two_settings_ranked",
    "before_and_after_an_alignment",
    "detail_against_sent_ppi",
    "ones_own_photograph",
    "files_for_one_picture",
    "does_it_get_it_right",
)
TIMEOUT_S = 1800
"""For one cell: far beyond what a machine that is busy with other tests takes."""
FEWEST_PICTURES = 4
"""A lesson shows its steps; the shortest draws four figures."""


def lesson(name):
    return nbformat.read(NOTEBOOKS / f"{name}.ipynb", as_version=4)


def code_cells(notebook):
    return [cell for cell in notebook.cells if cell.cell_type == "code"]


def outputs_of(notebook):
    return [output for cell in code_cells(notebook) for output in cell.outputs]


def test_every_notebook_is_tested():
    assert {path.stem for path in NOTEBOOKS.glob("*.ipynb")} == set(LESSONS)


@pytest.mark.parametrize("name", LESSONS)
def test_committed_without_outputs(name):
    notebook = lesson(name)
    nbformat.validate(notebook)
    assert not outputs_of(notebook)
    assert all(cell.execution_count is None for cell in code_cells(notebook))
    assert set(notebook.metadata) == {"kernelspec"}
    assert not any(cell.metadata for cell in notebook.cells)


@pytest.mark.parametrize("name", LESSONS)
def test_samples_are_called_simulated(name):
    words = " ".join(c.source for c in lesson(name).cells[:1] if c.cell_type == "markdown")
    assert "**simulated**" in words


@pytest.mark.parametrize("name", LESSONS)
def test_runs_from_top_to_bottom(name):
    notebook = lesson(name)
    resources = {"metadata": {"path": str(NOTEBOOKS)}}
    NotebookClient(notebook, timeout=TIMEOUT_S, resources=resources).execute()
    outputs = outputs_of(notebook)
    # an error stops the run above; warnings come on standard error
    said = [o.text for o in outputs if o.output_type == "stream" and o.name == "stderr"]
    assert not said
    pictures = [o for o in outputs if "image/png" in o.get("data", {})]
    assert len(pictures) >= FEWEST_PICTURES
