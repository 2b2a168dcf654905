"""Validate the whole road on invented test sessions: python tests/validation/study.py.

Every session is simulated: printed, photographed, measured and ranked by the library and, beside
it, by the figures that people take from crops at a glance; both are held against what the
simulator knows to be true. Sessions already in the work folder are not run again.
"""

from __future__ import annotations

import argparse
import json
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory, gettempdir
from typing import Any

import numpy as np
from camera_response import camera_at_the_edges
from rich.progress import track
from rows import write_rows
from sessions import Session, Setting, draw_session
from shortcuts import grain_at_a_glance, sharpness_at_a_glance
from table import write_table
from truths import grain_of_print, truth_of_setting

import dotloupe
from dotloupe import simulate

PRINT_PIXELS_PER_MM = 120.0
HERE = Path(__file__).parent


@dataclass(frozen=True)
class Outcome:
    """One photograph: what was measured, what a glance sees, and the true grain of the print."""

    setting: str
    fault: str
    measured: dict[str, Any]
    glances: dict[str, float]
    print_grain: float


def run_session(session: Session) -> dict[str, Any]:
    """Print, photograph and measure a whole session; plain values, ready for a file."""
    outcomes = []
    with TemporaryDirectory() as folder:
        number = 0
        for setting in session.settings:
            for _ in range(session.prints):
                outcomes.append(_photographed(session, setting, number, Path(folder)))
                number += 1
    one, other = session.settings
    truth = {"one": truth_of_setting(session, one)}
    truth["other"] = truth_of_setting(session, other) if other.differs_from(one) else truth["one"]
    return {
        "seed": session.seed,
        "subject": session.subject,
        "prints": session.prints,
        "camera_known": session.camera_known,
        "ending": session.ending,
        "outcomes": [vars(o) for o in outcomes],
        "truth": truth,
        "version": dotloupe.__version__,
    }


def print_setting(
    session: Session, setting: Setting, number: int
) -> tuple[dotloupe.Patch, simulate.Print]:
    """Print a setting as the print of this number of a session."""
    patch = dotloupe.Patch(setting.sent_ppi, run=number, label="simulated")
    return patch, simulate.print_picture(
        patch.draw(),
        setting.sent_ppi,
        printer=session.printer,
        mode=setting.mode,
        alignment=setting.alignment,
        paper=session.paper,
        seed=10 * session.seed + number,
        pixels_per_mm=PRINT_PIXELS_PER_MM,
    )


def _photographed(session: Session, setting: Setting, number: int, folder: Path) -> Outcome:
    patch, printed = print_setting(session, setting, number)
    shot = session.shots[number]
    picture = simulate.photograph(printed, camera=session.camera, shot=shot)
    fault = session.faults[number] if session.faults else ""
    ending = ".jpg" if fault == "compression" else session.ending
    path = simulate.write_capture(folder / f"print{number}{ending}", picture)
    camera = camera_at_the_edges(picture) if session.camera_known else None
    measured = dotloupe.measure_capture(dotloupe.load_capture(path), camera_mtf=camera)
    coded = picture.coded(8)
    return Outcome(
        setting=setting.name,
        fault=fault,
        measured={**measured.to_dict(), "path": path.name},
        glances={"sharpness": sharpness_at_a_glance(coded), "grain": grain_at_a_glance(coded)},
        print_grain=grain_of_print(printed, patch),
    )


def run(count: int, work: Path, *, faulty: bool) -> list[dict[str, Any]]:
    """Run the sessions that the work folder does not hold yet, and return all of them."""
    work.mkdir(parents=True, exist_ok=True)
    sessions = []
    for seed in track(range(count), "faulty sessions" if faulty else "sessions"):
        kept = work / f"{'faulty' if faulty else 'clean'}_{seed}.json"
        if not kept.exists():
            found = run_session(draw_session(seed, faulty=faulty))
            aside = kept.with_suffix(".part")
            aside.write_text(json.dumps(found, default=float))
            aside.replace(kept)
        sessions.append(json.loads(kept.read_text()))
    return sessions


def main() -> None:
    """Run both studies and write their rows and their table beside this file."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--sessions", type=int, default=200)
    ask.add_argument("--faulty", type=int, default=60)
    ask.add_argument("--work", type=Path, default=Path(gettempdir()) / "dotloupe_validation")
    given = ask.parse_args()
    np.seterr(all="raise", under="ignore")
    clean = run(given.sessions, given.work, faulty=False)
    faulty = run(given.faulty, given.work, faulty=True)
    rows = [*write_rows(clean, HERE / "sessions.csv"), *write_rows(faulty, HERE / "faulty.csv")]
    print(write_table(rows, HERE / "results.md"))


if __name__ == "__main__":
    main()
