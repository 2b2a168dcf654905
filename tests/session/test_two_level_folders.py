"""Folders of two levels name two factors; a plan's runs name as many as they like."""

import pytest

from dotloupe.errors import InputError
from dotloupe.session import crossed_folders, load_plan, planned_captures, planned_levels
from dotloupe.session.planned import planned_costs

PLAN = """\
printer = "desk"
paper = "lustre"
ppi = 600
print_seconds = 30
factors = {resize = "area", sharpen = 0}
[[runs]]
run = 1
mode = "fast"
captures = ["a.jpg"]
[[runs]]
run = 2
mode = "fast"
captures = ["b.jpg"]
print_seconds = 40
[[runs]]
run = 3
mode = "slow"
paper = "matt"
factors = {sharpen = 1.5}
captures = ["c.jpg"]
"""


@pytest.fixture
def root(tmp_path):
    for name in ("fast/before", "fast/after", "slow/before"):
        (tmp_path / name).mkdir(parents=True)
        (tmp_path / name / "a.jpg").write_bytes(name.encode())
    return tmp_path


def test_folders_given_one_by_one_or_by_the_folder_that_holds_them(root):
    places = [root / "fast" / "before", root / "fast" / "after", root / "slow" / "before"]
    captures, levels = crossed_folders(places, ("mode", "alignment"))
    assert captures["fast, before"] == [root / "fast" / "before" / "a.jpg"]
    assert levels["slow, before"] == {"mode": "slow", "alignment": "before"}
    again, names = crossed_folders([root])
    assert sorted(again) == sorted(captures)
    assert list(names["fast, after"]) == ["outer folder", "inner folder"]


def test_faults_are_one_line(root):
    with pytest.raises(InputError, match="no folders within folders here"):
        crossed_folders([root / "fast" / "before"])
    with pytest.raises(InputError, match="is there already"):
        crossed_folders([root / "fast" / "before", root / "fast" / "before"])
    with pytest.raises(InputError, match="give two names, as mode,alignment"):
        crossed_folders([root], ("mode",))


def test_what_is_said_once_holds_for_all_runs_that_say_nothing(tmp_path):
    for name in "abc":
        (tmp_path / f"{name}.jpg").write_bytes(name.encode())
    (tmp_path / "plan.toml").write_text(PLAN, "utf-8")
    planned = planned_captures(load_plan(tmp_path / "plan.toml"))
    assert [c.setting for c in planned] == [
        "lustre, fast, sharpen 0",
        "lustre, fast, sharpen 0",
        "matt, slow, sharpen 1.5",
    ]
    levels = planned_levels(planned)["matt, slow, sharpen 1.5"]
    assert (levels["resize"], levels["sharpen"], levels["printer"]) == ("area", 1.5, "desk")
    assert levels["inks"] == "not stated"
    costs = planned_costs(planned)
    assert costs["lustre, fast, sharpen 0"] == {"print_seconds": 35.0}
    assert costs["matt, slow, sharpen 1.5"] == {"print_seconds": 30.0}
