"""The reference of the library is what `python -m pydoc dotloupe` shows: whole and complete."""

import ast
import inspect
import pydoc
import re
from pathlib import Path

import pytest

import dotloupe

STUB = Path(dotloupe.__file__).with_suffix(".pyi")
PUBLIC = sorted(
    alias.asname
    for node in ast.walk(ast.parse(STUB.read_text("utf-8")))
    if isinstance(node, ast.ImportFrom)
    for alias in node.names
)
METHODS = sorted(
    f"{name}.{method}"
    for name in PUBLIC
    if inspect.isclass(getattr(dotloupe, name))
    for method, _ in inspect.getmembers(getattr(dotloupe, name), inspect.isfunction)
    if not method.startswith("_")
)


def found(dotted):
    one = dotloupe
    for name in dotted.split("."):
        one = getattr(one, name)
    return one


def sections(one):
    """Sections of a docstring in the manner of numpydoc: heading to the names described there."""
    parts = re.split(r"^(\w[\w ]*)\n-{3,}$", inspect.getdoc(one) or "", flags=re.MULTILINE)
    return {
        heading: {
            name.strip().lstrip("*")
            for line in body.splitlines()
            if line and not line.startswith(" ")
            for name in line.partition(" : ")[0].split(",")
        }
        for heading, body in zip(parts[1::2], parts[2::2], strict=True)
    }


def taken(one):
    """Names of what is given in a call."""
    return {name for name in inspect.signature(one).parameters if name != "self"}


@pytest.mark.parametrize("name", [*PUBLIC, *METHODS])
def test_every_parameter_is_described(name):
    one, described = found(name), sections(found(name))
    assert (one.__doc__ or "").strip()
    if inspect.isclass(one):
        described["Parameters"] = described.get("Parameters", set()) | described.get(
            "Attributes", set()
        )
    assert taken(one) <= described.get("Parameters", set())


@pytest.mark.parametrize("name", [*PUBLIC, *METHODS])
def test_every_result_is_described(name):
    one = found(name)
    gives = not inspect.isclass(one) and inspect.signature(one).return_annotation != "None"
    if gives and taken(one):
        assert sections(one).get("Returns")


def test_pydoc_shows_every_public_name():
    """Though the front door loads what it exports on first use only."""
    text = pydoc.render_doc(dotloupe, renderer=pydoc.plaintext)
    shown = set(re.findall(r"^    (?:class )?(\w+)\(", text, flags=re.MULTILINE))
    assert set(PUBLIC) <= shown
    assert set(PUBLIC) <= set(dotloupe.__all__) == set(dir(dotloupe))
