"""Every kind of caution that a room declares has a sentence."""

import ast
from importlib import import_module
from pathlib import Path

import dotloupe
from dotloupe.report.text import caution_text

PACKAGE = Path(dotloupe.__file__).parent


def declared_kinds():
    """Classes whose base is `Caution`, found in the source so that no import order hides one."""
    for path in sorted(PACKAGE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.ClassDef) and "Caution" in map(ast.unparse, node.bases):
                module = ".".join(("dotloupe", *path.relative_to(PACKAGE).with_suffix("").parts))
                yield getattr(import_module(module), node.name)


def test_every_kind_of_caution_has_its_own_sentence():
    kinds = list(declared_kinds())
    assert kinds
    assert [k.__name__ for k in kinds if k not in caution_text.registry] == []
