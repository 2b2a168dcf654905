"""Run the lessons and store them with their outputs, so that they can be read where they lie.

`python tests/notebook_outputs.py [NAME...]` runs all of them, or those named, anew; then look at
the difference. Pictures are kept small: few colours, no more pixels than the figure asks for.
"""

import base64
import io
import re
import sys
import warnings
from itertools import zip_longest
from pathlib import Path

import nbformat
from nbclient import NotebookClient
from PIL import Image

NOTEBOOKS = Path(__file__).parents[1] / "notebooks"
TIMEOUT_S = 1800
"""For one cell: far beyond what a machine that is busy with other tests takes."""
COLOURS = 64
NUMBER = re.compile(r"\d+(?:\.\d+)?")
SHARE = 0.005
"""Numbers may differ by as much, or by one of the last digit printed: processors round apart."""


def code_cells(notebook):
    """Its cells that hold code."""
    return [cell for cell in notebook.cells if cell.cell_type == "code"]


def outputs_of(notebook):
    """All outputs, in order."""
    return [output for cell in code_cells(notebook) for output in cell.outputs]


def executed(path):
    """Run a notebook from top to bottom in its own folder; it comes back with its outputs."""
    notebook = nbformat.read(path, as_version=4)
    resources = {"metadata": {"path": str(path.parent)}}
    options = {"timeout": TIMEOUT_S, "resources": resources, "record_timing": False}
    return NotebookClient(notebook, **options).execute()


def store(path, notebook):
    """Write a notebook that was run, with outputs in one piece and small pictures."""
    notebook.metadata.pop("language_info", None)
    for cell in code_cells(notebook):
        cell.outputs = list(_joined(cell.outputs))
        for output in cell.outputs:
            if picture := output.get("data", {}).get("image/png"):
                output.data["image/png"] = _small(picture)
    nbformat.write(notebook, path)


def texts(notebook):
    """What each cell that holds code says in words, and how many pictures it shows."""
    return [
        (
            "".join(o.text if o.output_type == "stream" else _plain(o) for o in cell.outputs),
            sum("image/png" in o.get("data", {}) for o in cell.outputs),
        )
        for cell in code_cells(notebook)
    ]


def changes(stored, run):
    """Cells whose outputs are not those stored: number of the cell, stored, run."""
    pairs = zip_longest(texts(stored), texts(run), fillvalue=("", 0))
    return [
        (number, old, new)
        for number, (old, new) in enumerate(pairs, start=1)
        if old[1] != new[1] or not alike(old[0], new[0])
    ]


def alike(one, other):
    """Whether two texts are the same, but for what rounding does to their numbers."""
    words = [
        " ".join(re.sub("[─-]{2,}", "", NUMBER.sub("#", text)).split()) for text in (one, other)
    ]
    numbers = [NUMBER.findall(text) for text in (one, other)]
    return words[0] == words[1] and all(map(_close, *numbers))


def _close(one, other):
    last = max(10.0 ** -len(number.partition(".")[2]) for number in (one, other))
    difference = abs(float(one) - float(other))
    return difference <= max(1.001 * last if "." in one + other else 0, SHARE * float(one))


def _plain(output):
    # what a figure is called says no more than that it is there
    return "" if "image/png" in output.data else output.data.get("text/plain", "")


def _joined(outputs):
    """Outputs with what was said on one stream in one piece, however it came in."""
    last = None
    for output in outputs:
        stream = output.get("name")
        if last is not None and stream is not None and stream == last.get("name"):
            last.text += output.text
        else:
            last = output
            yield output


def _small(picture):
    image = Image.open(io.BytesIO(base64.b64decode(picture))).convert("RGB")
    held = io.BytesIO()
    image.quantize(COLOURS, dither=Image.Dither.NONE).save(held, "PNG", optimize=True)
    return base64.b64encode(held.getvalue()).decode()


if __name__ == "__main__":
    warnings.simplefilter("ignore")
    for name in sys.argv[1:] or sorted(p.stem for p in NOTEBOOKS.glob("*.ipynb")):
        path = NOTEBOOKS / f"{name}.ipynb"
        before = nbformat.read(path, as_version=4)
        run = executed(path)
        print(name, "cells changed:", [number for number, *_ in changes(before, run)], flush=True)
        store(path, run)
