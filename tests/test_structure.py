"""How the package is built: rooms in order, no circles, front doors, files of a size to be read.

Every import counts, those for types alone included. What a front door hands on is followed to the
file that defines it.
"""

import ast
from functools import cache
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "analysis" / "dotloupe"
GROUND = ("arrays", "cautions", "errors", "units")
ORDER = (
    *GROUND,
    "processes",
    "storage",
    "measure",
    "patch",
    "capture",
    "registration",
    "fitness",
    "number",
    "measurement",
    "evaluate",
    "prepare",
    "compare",
    "report",
    "session",
    "workbench",
    "simulate",
    "cli",
    "__main__",
)
"""Each imports only what stands before it; DEVELOPERS.md says why in this order."""
MOST_LINES = 400
MOST_FILES_AT_THE_TOP = 8

Name = tuple[str, ...]


@cache
def files() -> dict[Name, Path]:
    """Every module that holds code, by its name within the package."""
    every = (p for p in PACKAGE.rglob("*.py") if p.name != "__init__.py")
    return {p.relative_to(PACKAGE).with_suffix("").parts: p for p in sorted(every)}


@cache
def doors() -> dict[Name, dict[str, Name]]:
    """For every room, what its front door exports: name to the module that defines it."""
    found = {}
    for stub in sorted(PACKAGE.rglob("__init__.pyi")):
        room = stub.parent.relative_to(PACKAGE).parts
        exported = {}
        for node in ast.walk(ast.parse(stub.read_text("utf-8"))):
            if isinstance(node, ast.ImportFrom):
                home = (*room, *(node.module or "").split(".")) if node.module else room
                for alias in node.names:
                    exported[alias.name] = home if node.module else (*room, alias.name)
        found[room] = exported
    return found


def defining(module: Name, name: str) -> Name:
    """File in which what is imported as `name` from `module` is defined."""
    if module in files():
        return module
    if (*module, name) in files() or (*module, name) in doors():
        return (*module, name)
    assert name in doors().get(module, {}), f"{'.'.join(module)} exports no {name}"
    return defining(doors()[module][name], name)


@cache
def imports(importer: Name) -> tuple[tuple[Name, str], ...]:
    """What a file imports of the package: module and name."""
    found = []
    for node in ast.walk(ast.parse(files()[importer].read_text("utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module and not node.level:
            top, *module = node.module.split(".")
            if top == "dotloupe":
                found += [(tuple(module), alias.name) for alias in node.names]
        if isinstance(node, ast.Import):
            for alias in node.names:
                top, *module = alias.name.split(".")
                if top == "dotloupe" and module:
                    found.append((tuple(module[:-1]), module[-1]))
    return tuple(found)


@cache
def arrows() -> frozenset[tuple[Name, Name]]:
    """Pairs of files of which the first imports from the second."""
    return frozenset(
        (importer, defining(module, name))
        for importer in files()
        for module, name in imports(importer)
    )


def circle(pairs) -> list:
    """One circle among pairs, or none."""
    graph = {}
    for a, b in pairs:
        if a != b:
            graph.setdefault(a, set()).add(b)
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as error:
        return error.args[1]
    return []


def test_no_two_files_import_each_other_however_many_lie_between():
    assert circle(arrows()) == []


@pytest.mark.parametrize("room", [(), *sorted(doors())], ids="/".join)
def test_no_circle_of_rooms_within_a_room(room):
    depth = len(room)
    within = (
        (a[depth], b[depth])
        for a, b in arrows()
        if a[:depth] == room == b[:depth] and len(a) > depth and len(b) > depth
    )
    assert circle(within) == []


def test_arrows_fall_in_the_order_of_the_rooms():
    rank = {room: i for i, room in enumerate(ORDER)}
    assert {name[0] for name in files()} <= set(rank), "a room without a place in the order"
    wrong = [(a, b) for a, b in arrows() if rank[a[0]] < rank[b[0]]]
    assert wrong == []


def test_measuring_knows_arrays_alone():
    """`measure` and `simulate` can be used and judged without the rest."""
    ground = {(g,) for g in GROUND}
    of_measure = {b for a, b in arrows() if a[0] == "measure" and b[0] != "measure"}
    assert of_measure <= ground
    assert {a[0] for a, b in arrows() if b[0] == "simulate"} <= {"simulate", "cli"}


def test_other_rooms_are_entered_by_their_front_door():
    by_the_cellar = [
        (importer, module, name)
        for importer in files()
        for module, name in imports(importer)
        if module in files() and len(module) > 1 and importer[: len(module) - 1] != module[:-1]
    ]
    assert by_the_cellar == []


def test_every_room_says_what_it_is_for():
    for door in PACKAGE.rglob("__init__.py"):
        docstring = ast.get_docstring(ast.parse(door.read_text("utf-8")))
        assert docstring, door
        assert len(docstring.splitlines()) == 1, door


def test_what_a_front_door_exports_is_defined_and_asked_for():
    asked = {(module, name) for importer in files() for module, name in imports(importer)}
    asked |= {(home, name) for name, home in doors()[()].items()}
    outside = (
        PACKAGE.parents[1] / "notebooks",
        PACKAGE.parents[1] / "sample_captures",
        PACKAGE.parents[1] / "tests",
    )
    texts = "".join(
        p.read_text("utf-8")
        for folder in outside
        for p in folder.rglob("*")
        if p.suffix in (".py", ".ipynb")
    )
    for room, exported in doors().items():
        for name in exported:
            defining(room, name)
            assert (room, name) in asked or name in texts, (
                f"{'/'.join(room)}: nobody asks for {name}"
            )


def test_few_files_lie_beside_the_rooms():
    assert len(list(PACKAGE.glob("*.py"))) <= MOST_FILES_AT_THE_TOP


@pytest.mark.parametrize("path", files().values(), ids=lambda p: str(p.relative_to(PACKAGE)))
def test_a_file_can_be_read_at_a_sitting(path):
    assert len(path.read_text("utf-8").splitlines()) <= MOST_LINES


def test_parts_of_scipy_load_on_first_use():
    """They take longer to load than all else of a run over cached measurements together."""
    early = []
    for name, path in files().items():
        for node in ast.parse(path.read_text("utf-8")).body:
            if isinstance(node, ast.ImportFrom):
                loaded = [node.module or ""]
            elif isinstance(node, ast.Import):
                loaded = [alias.name for alias in node.names if "." in alias.name]
            else:
                continue
            if name[0] != "simulate" and any(m.split(".")[0] == "scipy" for m in loaded):
                early.append(".".join(name))
    assert not early
