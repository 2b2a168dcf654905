"""Whether intervals of detail hold the very print's edges, where they miss the setting's truth.

    python tests/validation/own_edges.py --values 60 --out FILE.csv

Prints again what the sessions of `sessions.csv` with one print a setting and a known camera
photographed, and averages the drawn edges of that print by true distance. Each stored interval is
held against the print's own edges and against the truth of the setting. Rows are kept as they are
made.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from rows import Row, read_rows as read_sessions
from sessions import draw_session
from simulated_truth import true_detail_of
from study import HERE, print_setting
from study_file import add_rows, read_rows

COLUMNS = ("seed", "setting", "criterion", "value", "low", "high", "of_print", "of_setting")
SETTINGS = ("one", "other")


def own_detail(seed: int, name: str) -> dict[str, float]:
    """Detail of the mid-tone edges of the one print of a setting of a session, by axis."""
    session, number = draw_session(seed, faulty=False), SETTINGS.index(name)
    patch, printed = print_setting(session, session.settings[number], number)
    return {f"detail_{axis}": true_detail_of(printed, patch, axis) for axis in ("x", "y")}


def rows_of(sessions: list[Row], name: str) -> list[dict[str, object]]:
    """Rows of both directions of one setting of a session."""
    own = own_detail(sessions[0].seed, name)
    return [
        {
            "seed": row.seed,
            "setting": name,
            "criterion": row.criterion,
            "value": getattr(row, name),
            "low": getattr(row, f"{name}_low"),
            "high": getattr(row, f"{name}_high"),
            "of_print": f"{own[row.criterion]:.5g}",
            "of_setting": getattr(row, f"true_{name}"),
        }
        for row in sessions
    ]


def print_table(rows: list[dict[str, str]]) -> None:
    """Print coverage and errors against both truths, by direction."""
    for criterion in ("detail_x", "detail_y"):
        of_it = [r for r in rows if r["criterion"] == criterion]
        names = ("value", "low", "high", "of_print", "of_setting")
        value, low, high, own, setting = (np.array([float(r[n]) for r in of_it]) for n in names)
        for title, true in (("the print's own", own), ("the setting's", setting)):
            off = 100 * np.log(value / true)
            held = 100 * np.mean((low <= true) & (true <= high))
            rms = np.sqrt(np.mean(off**2))
            print(f"{criterion} {title:16} held {held:5.1f} % of {off.size}, ", end="")
            print(f"error mean {off.mean():+.2f} %, rms {rms:.2f} %")
        apart = 100 * np.log(own / setting)
        print(f"{criterion} print against setting rms {np.sqrt(np.mean(apart**2)):.2f} %")


def main() -> None:
    """Print what is missing, then the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--values", type=int, default=60)
    parser.add_argument("--out", type=Path, required=True)
    given = parser.parse_args()
    known = [
        r
        for r in read_sessions(HERE / "sessions.csv")
        if r.camera_known and r.prints == 1 and not r.declined and r.criterion != "grain"
    ]
    wanted = [(seed, name) for seed in dict.fromkeys(r.seed for r in known) for name in SETTINGS]
    done = {(int(r["seed"]), r["setting"]) for r in read_rows(given.out)}
    for seed, name in wanted[: given.values]:
        if (seed, name) not in done:
            made = rows_of([r for r in known if r.seed == seed], name)
            add_rows(given.out, COLUMNS, [made])
    print_table(read_rows(given.out))


if __name__ == "__main__":
    main()
