"""Write `outside_checks.md`, all that the tests compare with the outside: run this file.

The tests that use the fixture `outside_check` are run, and each comparison becomes a row: what is
claimed, where the value comes from, the value, ours, how far they lie apart and how far they may.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterable
from pathlib import Path
from xml.etree import ElementTree as ET

TESTS = Path(__file__).parent
PAGE = TESTS / "outside_checks.md"
PROPERTY, ANEW = "outside check", "OUTSIDE_CHECKS_ANEW"
TITLE = """\
# Checks against the outside

Written by `python tests/outside_checks.py` from the tests that it names; do not edit it by hand.
Values under "from memory" were written down by people who did not hold the text: check these first.
"Of n" is the one of n values that differs most.
"""
HEADS = ("claim", "source", "value", "ours", "difference", "may differ by", "test")


def files() -> list[str]:
    """Test files that compare with the outside."""
    return sorted(str(p) for p in TESTS.rglob("test_*.py") if "outside_check(" in p.read_text())


def rows_of(report: Path) -> list[dict[str, object]]:
    """Comparisons in a test report, each once."""
    rows: dict[str, dict[str, object]] = {}
    for case in ET.parse(report).iter("testcase"):
        for found in case.iter("property"):
            if found.get("name") == PROPERTY:
                row = json.loads(str(found.get("value")))
                row["test"] = str(case.get("classname")).removeprefix("tests.").replace(".", "/")
                rows[f"{row['claim']}{row['source']}"] = row
    return list(rows.values())


def page(rows: Iterable[dict[str, object]]) -> str:
    """Return the page: what anybody can look up or derive, then what rests on memory."""
    rows = sorted(rows, key=lambda r: (str(r["source"]), str(r["test"]), _counted(str(r["claim"]))))
    parts = [TITLE]
    for title, memory in (
        ("Derived, looked up, or against a library", False),
        ("From memory", True),
    ):
        shown = [row for row in rows if row["memory"] is memory]
        parts.append(f"## {title}: {len(shown)}\n")
        parts.append(f"| {' | '.join(HEADS)} |\n|{'---|' * len(HEADS)}")
        parts += [_line(row) for row in shown]
        parts.append("")
    return "\n".join(parts)


def _line(row: dict[str, object]) -> str:
    value, ours = float(str(row["value"])), float(str(row["ours"]))
    claim = f"{row['claim']}" + (f" (of {row['count']})" if row["count"] != 1 else "")
    apart = f"{ours - value:.2g}" if value == 0 else f"{100 * (ours / value - 1):+.2g} %"
    cells = (claim, row["source"], f"{value:.6g}", f"{ours:.6g}", apart, row["bound"], row["test"])
    return f"| {' | '.join(str(c).replace('|', '/') for c in cells)} |"


def _counted(text: str) -> list[tuple[int, float, str]]:
    """Order words as text and numbers as numbers."""
    return [
        (0, float(word), "") if word.replace(".", "", 1).isdigit() else (1, 0.0, word)
        for word in text.replace(",", "").split()
    ]


def main() -> None:
    """Run the tests and write the page."""
    with tempfile.TemporaryDirectory() as folder:
        report = Path(folder) / "report.xml"
        command = [sys.executable, "-m", "pytest", "-q", "-p", "no:xdist", f"--junitxml={report}"]
        anew = {**os.environ, ANEW: "1"}
        ended = subprocess.run([*command, *files()], cwd=TESTS.parent, env=anew, check=False)
        rows = rows_of(report)
    PAGE.write_text(page(rows), encoding="utf-8")
    print(f"{PAGE}: {len(rows)} checks")
    sys.exit(ended.returncode)


if __name__ == "__main__":
    main()
