"""Ladders of whole simulated patches, on printers with a raster of 600 and of 720.

``python tests/compare/ladder/ladder_benchmark.py`` prints, photographs and measures every patch
anew (about seven minutes of one core), keeps the numbers in ``ladder_numbers.json`` beside it and
prints the table; the tests fit the ladders to the numbers kept.
"""

import json
import sys
import tempfile
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from simulated_truth import true_detail_of, true_edge_response

from dotloupe import Patch, load_capture, measure_capture, simulate
from dotloupe.compare.ladder.all_criteria import ladder
from dotloupe.measurement import Measurement
from dotloupe.number import CRITERIA, Number
from dotloupe.registration.homography import map_points

KEPT = Path(__file__).with_name("ladder_numbers.json")
PPI = (240, 300, 360, 450, 600, 720, 1200)
PRINTS = 2
PRINTERS = {600: simulate.PRINTER_600, 720: simulate.PRINTER_720}
TONES = (0.16, 0.64)
TRUTH_PPI = 2880
CAMERA_PLACE_MM = (6.3, 9.9)
KEPT_NUMBERS = ("detail_x", "detail_y")


def shot_of(seed):
    """One careful photograph."""
    chance = np.random.default_rng(seed)
    return simulate.Shot(
        rotation_deg=chance.uniform(-2, 2),
        tilt_x_deg=chance.normal(0, 0.3),
        tilt_y_deg=chance.normal(0, 0.3),
        focus_error_mm=chance.normal(0, 0.05),
        curl_mm=chance.uniform(0, 0.06),
        light_slope=(chance.normal(0, 0.05), chance.normal(0, 0.05)),
        exposure=chance.uniform(0.6, 0.8),
        seed=seed,
    )


def measured_row(raster, ppi, number, folder):
    """One print: its true detail, and the detail measured with the camera taken out."""
    seed = raster + 10 * PPI.index(ppi) + number
    patch = Patch(ppi, run=seed % 250)
    printed = simulate.print_picture(
        patch.draw(), ppi, printer=PRINTERS[raster], mode=simulate.FINE, seed=seed
    )
    picture = simulate.photograph(printed, shot=shot_of(seed))
    path = simulate.write_capture(folder / "capture.tif", picture)
    place = map_points(np.linalg.inv(picture.homography), np.array([CAMERA_PLACE_MM]))[0]
    frequency = np.arange(0, 35, 0.25)
    camera = (frequency, picture.camera_mtf(frequency, *place))
    measured = measure_capture(load_capture(path), camera_mtf=camera)
    return {
        "raster": raster,
        "ppi": ppi,
        "print": number,
        "true": {axis: true_detail_of(printed, patch, axis) for axis in "xy"},
        "numbers": {
            name: [n.value, n.low, n.high]
            for name, n in measured.numbers.items()
            if name in KEPT_NUMBERS
        },
    }


def plateau_truth(raster, axis):
    """Detail of edges sent at four times the raster and more: value and standard error.

    At twice the raster the prints still gain a per cent.
    """
    found = true_edge_response(
        axis,
        tones=TONES,
        sent_ppi=TRUTH_PPI,
        prints=5,
        seed=5,
        printer=PRINTERS[raster],
        mode=simulate.FINE,
    )
    return [found.mtf50, found.mtf50_error]


def climbed(rows, raster, axis):
    """Ladder of one printer in one direction."""
    rungs = {}
    for r in rows:
        if r["raster"] != raster:
            continue
        name = f"{r['ppi']}-{r['print']}"
        numbers = {n: Number(*v, CRITERIA[n].unit) for n, v in r["numbers"].items()}
        shot = Measurement(name, name, str(r["print"]), 1, r["ppi"], True, (), (), numbers)
        rungs.setdefault(float(r["ppi"]), []).append(shot)
    return ladder(rungs, criterion=f"detail_{axis}")


def table(kept):
    """Lines that compare each ladder's plateau with the truth."""
    lines = []
    for raster in PRINTERS:
        for axis in "xy":
            found = climbed(kept["rows"], raster, axis)
            rise, (true, error) = found.leading.rise, kept["plateau"][f"{raster}{axis}"]
            largest = max(found.leading.departures, key=lambda d: abs(d.percent))
            low, high = rise.plateau_interval
            crossing = "{:.0f} to {:.0f}".format(*rise.crossing_interval)
            lines.append(
                f"raster {raster}, along {axis}: plateau {rise.plateau:.2f} ({low:.2f} to "
                f"{high:.2f}), true {true:.2f} +- {error:.2f} cycles/mm; 95 % at {crossing} ppi, "
                f"enough {found.enough_ppi}; outstanding {list(found.outstanding)}, largest "
                f"departure {largest.percent:+.1f} % at {largest.sent_ppi:g} ppi"
            )
    return lines


def main():
    """Measure everything anew, keep it, print the table."""
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        for raster in PRINTERS:
            for ppi in PPI:
                for number in range(PRINTS):
                    rows.append(measured_row(raster, ppi, number, Path(folder)))
                    print(rows[-1], flush=True)
    plateau = {f"{r}{axis}": plateau_truth(r, axis) for r in PRINTERS for axis in "xy"}
    kept = {"simulated": True, "rows": rows, "plateau": plateau}
    KEPT.write_text(json.dumps(kept, indent=1) + "\n")
    print("\n".join(table(kept)))


if __name__ == "__main__":
    main()
