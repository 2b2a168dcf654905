"""Validate verdicts on printers that the package was not built on, against what is true of them.

    python tests/validation/family_study.py --printers held-out --sessions 20 --out FOLDER

Every session prints one of `tests/printers` under two settings that differ in the sent ppi, in the
driver's resampling or in nothing, photographs each print once, and ranks the settings twice: with
the camera's true response taken out, and with the camera included. `prints.csv` keeps what is true
of every print by itself, `family.csv` the verdicts. A setting's truth is the mean over its prints
of other sessions; `--truths` prints further ones. With `--faulty` every photograph has a fault,
from hardly harmful to gross. A study that was stopped goes on where it was.
"""

from __future__ import annotations

import argparse
import sys
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import cv2
import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from family_table import family_table, fault_table
from printers import HELD_OUT, METHODS, PRINTERS, TUNED, Driver, Print
from printers.cameras import Camera, draw_camera, photograph
from printers.fault_sizes import SIZES, findings_on
from printers.print_truth import own_grain, screen_grain, true_detail
from study_file import add_rows, read_rows

from dotloupe import Measurement, Patch, measure_capture, rank
from dotloupe.capture import Capture
from dotloupe.errors import DotloupeError

CRITERIA = ("detail_x", "detail_y", "grain")
SUBJECTS = ("sent ppi", "driver", "nothing")
SUBJECT_SHARES = (0.4, 0.4, 0.2)
TWO_PRINTS_SHARE = 0.3
PIXELS_PER_MM = (60.0, 80.0)
LENS_PX = (0.3, 0.7)
SCREENS = ("clustered_150", "clustered_200")
WAYS = ("known", "included")
OWN_SEEDS, FAULTY_SEEDS, TRUTH_SEEDS = 1000, 500_000, 900_000
PRINT_COLUMNS = (
    "seed",
    "printer",
    "sent_ppi",
    "method",
    *CRITERIA,
    "drawn_line_x",
    "drawn_line_y",
)
ENDS = ("", "_low", "_high", "_own", "_drawn_line")
COLUMNS = (
    "session",
    "family",
    "printer",
    "subject",
    "prints",
    "way",
    "pixels_per_mm",
    "faults",
    "warned",
    "untold",
    "criterion",
    *(f"{setting}_{part}" for setting in ("one", "other") for part in ("sent_ppi", "method")),
    *(f"{setting}{end}" for setting in ("one", "other") for end in ENDS),
    "smallest_difference",
    "claimed",
    "declined",
)
Row = dict[str, Any]


@dataclass(frozen=True)
class Setting:
    """A printer, what it is sent, and how its driver resamples that."""

    printer: str
    sent_ppi: int
    method: str

    def print(self, seed: int) -> tuple[Print, Row]:
        """One print, and what is true of it by itself."""
        model = PRINTERS[self.printer]
        raster_ppi = model.driver.raster_ppi
        patch = Patch(sent_ppi=self.sent_ppi, run=seed % 250)
        printed = model(patch, seed, driver=Driver(raster_ppi, self.method))  # type: ignore[arg-type]
        (x, line_x), (y, line_y) = (true_detail(printed, patch, raster_ppi, a) for a in ("x", "y"))
        if self.printer in SCREENS:
            grain = screen_grain(model, self.sent_ppi, self.method)  # type: ignore[arg-type]
        else:
            grain = own_grain(printed, patch, raster_ppi)
        true = {"detail_x": x, "detail_y": y, "grain": grain}
        about = {"seed": seed, **vars(self), "drawn_line_x": line_x, "drawn_line_y": line_y}
        return printed, about | true


@dataclass(frozen=True)
class Session:
    """Two settings of one printer, one or two prints of each."""

    number: int
    subject: str
    one: Setting
    other: Setting
    prints: int
    faults: tuple[tuple[str, float], ...] = ()

    @property
    def first_seed(self) -> int:
        """Of its prints."""
        return (FAULTY_SEEDS if self.faults else OWN_SEEDS) + 10 * self.number


def draw_session(number: int, names: tuple[str, ...], *, faulty: bool = False) -> Session:
    """Draw one session; where it is faulty, a fault and its size for every photograph."""
    chance = np.random.default_rng([number, 28 if faulty else 25])
    printer = names[number % len(names)]
    subject = str(chance.choice(SUBJECTS, p=SUBJECT_SHARES))
    own = PRINTERS[printer].driver.method
    another = METHODS[(METHODS.index(own) + 1) % len(METHODS)]
    one = Setting(printer, 600, own)
    changed = {"sent ppi": {"sent_ppi": 300}, "driver": {"method": another}, "nothing": {}}
    prints = 2 if subject == "nothing" or chance.random() < TWO_PRINTS_SHARE else 1
    faults = [draw_fault(chance) for _ in range(2 * prints)] if faulty else ()
    return Session(number, subject, one, replace(one, **changed[subject]), prints, tuple(faults))


def draw_fault(chance: np.random.Generator) -> tuple[str, float]:
    """A fault and its size, in the units of `cameras.photograph`."""
    fault = str(chance.choice(list(SIZES)))
    small, _, large = SIZES[fault]
    return fault, float(np.exp(chance.uniform(np.log(small), np.log(large))))


def draw_round_camera(seed: int) -> Camera:
    """A sound camera whose response is known: round pupil, square pixels, blur in pixels."""
    lens_px = float(np.random.default_rng([seed, 26]).uniform(*LENS_PX))
    return replace(draw_camera(seed, pixels_per_mm=PIXELS_PER_MM), lens_px=lens_px)


def measured(capture: Capture, camera: Camera) -> dict[str, Measurement]:
    """One photograph with the camera taken out by its true response, and with it included."""
    frequency = np.linspace(0, 0.9 * camera.pixels_per_mm, 600)
    known = (frequency, camera.transfer(frequency))
    return {
        "known": measure_capture(capture, camera_mtf=known),
        "included": measure_capture(capture),
    }


def run_session(session: Session, family: str) -> tuple[list[Row], list[Row]]:
    """Rows of the prints that a session makes, and of its verdicts."""
    cv2.setNumThreads(1)
    camera = draw_round_camera(4000 + session.number)
    laid = ("turn_deg", "pitch_deg", "yaw_deg", "shift_mm", "light")
    shots: dict[str, dict[str, list[Measurement]]] = {w: defaultdict(list) for w in WAYS}
    truths: dict[str, list[Row]] = defaultdict(list)
    for number in range(2 * session.prints):
        name = ("one", "other")[number % 2]
        seed = session.first_seed + number
        printed, truth = getattr(session, name).print(seed)
        truths[name].append(truth)
        anew = draw_camera(50 * session.number + number)
        shot = replace(camera, **{part: getattr(anew, part) for part in laid})
        fault, strength = session.faults[number] if session.faults else (None, 0.0)
        with TemporaryDirectory() as folder:
            picture = photograph(printed, shot, fault=fault, strength=strength, seed=seed)
            capture = picture.to_capture(folder)
        capture = replace(capture, path=f"session{session.number}/print{number}.tif")
        for way, one in measured(capture, camera).items():
            shots[way][name].append(one)
    about = {
        "session": session.number,
        "family": family,
        "printer": session.one.printer,
        "subject": session.subject,
        "prints": session.prints,
        "pixels_per_mm": round(camera.pixels_per_mm, 1),
        "faults": "; ".join(f"{fault} {strength:.3g}" for fault, strength in session.faults),
        "warned": said_of(shots["included"], "not fit", "warning"),
        "untold": said_of(shots["included"], "cannot tell"),
    }
    for name in ("one", "other"):
        setting = getattr(session, name)
        about |= {f"{name}_sent_ppi": setting.sent_ppi, f"{name}_method": setting.method}
    rows = [
        about | {"way": way} | verdict for way in WAYS for verdict in verdicts(shots[way], truths)
    ]
    return [t for each in truths.values() for t in each], rows


def said_of(shots: dict[str, list[Measurement]], *severities: str) -> str:
    """Names of the findings that any of a session's photographs carries to its reader."""
    found = (f for each in shots.values() for one in each for f in findings_on(one))
    return "; ".join(dict.fromkeys(f.name for f in found if f.severity in severities))


def verdicts(shots: dict[str, list[Measurement]], truths: dict[str, list[Row]]) -> Iterator[Row]:
    """What the library says on each criterion, beside what is true of the prints in hand."""
    try:
        criteria = rank(shots).criteria
    except DotloupeError as error:
        for criterion in CRITERIA:
            yield {"criterion": criterion, "declined": str(error)}
        return
    for criterion in CRITERIA:
        places = {p.setting: p for p in criteria[criterion].places} if criterion in criteria else {}
        if len(places) < 2:
            yield {"criterion": criterion, "declined": "a setting has no value"}
            continue
        row: Row = {"criterion": criterion, "declined": ""}
        for name, place in places.items():
            own = [t[criterion] for t in truths[name]]
            drawn = [t.get(f"drawn_line_{criterion[-1]}", np.nan) for t in truths[name]]
            values = (place.value, place.low, place.high, np.mean(own), np.mean(drawn))
            row |= {f"{name}{end}": f"{v:.6g}" for end, v in zip(ENDS, values, strict=True)}
        tied = places["one"].place == places["other"].place
        row["claimed"] = "" if tied else min(places, key=lambda s: places[s].place)
        smallest = criteria[criterion].smallest_difference
        row["smallest_difference"] = "" if smallest is None else f"{smallest:.6g}"
        yield row


def add_truths(out: Path, names: tuple[str, ...], wanted: int) -> None:
    """Print each setting until so many of its prints are known beside those of the sessions."""
    done = {(r["printer"], r["sent_ppi"], r["method"], r["seed"]) for r in read_rows(out)}
    for number in range(wanted):
        for printer in names:
            sessions = [draw_session(n, (printer,)) for n in range(40)]
            for setting in dict.fromkeys(s for each in sessions for s in (each.one, each.other)):
                seed = TRUTH_SEEDS + number
                if (printer, str(setting.sent_ppi), setting.method, str(seed)) not in done:
                    add_rows(out, PRINT_COLUMNS, [[setting.print(seed)[1]]])


def main() -> None:
    """Run what is missing, then print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sessions", type=int, default=6)
    parser.add_argument("--truths", type=int, default=0)
    parser.add_argument("--printers", choices=("held-out", "tuned"), default="held-out")
    parser.add_argument("--faulty", action="store_true")
    parser.add_argument("--out", type=Path, default=Path(__file__).parent)
    given = parser.parse_args()
    names = HELD_OUT if given.printers == "held-out" else TUNED
    verdicts_in = given.out / ("family_faulty.csv" if given.faulty else "family.csv")
    done = {int(r["session"]) for r in read_rows(verdicts_in) if r["family"] == given.printers}
    for number in range(given.sessions):
        if number not in done:
            session = draw_session(number, names, faulty=given.faulty)
            prints, rows = run_session(session, given.printers)
            add_rows(given.out / "prints.csv", PRINT_COLUMNS, [prints])
            add_rows(verdicts_in, COLUMNS, [rows])
    add_truths(given.out / "prints.csv", names, given.truths)
    table = fault_table if given.faulty else family_table
    print(table(read_rows(verdicts_in), read_rows(given.out / "prints.csv")))


if __name__ == "__main__":
    main()
