"""From finished sessions to one row for each session and criterion."""

from __future__ import annotations

import csv
from dataclasses import asdict, dataclass, fields
from typing import TYPE_CHECKING, Any, get_type_hints

import numpy as np
from truths import CRITERIA

from dotloupe import rank
from dotloupe.errors import NotFitError
from dotloupe.measurement import Measurement
from dotloupe.number import CRITERIA as RANKED, Number
from dotloupe.report.text.cautions import caution_text

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

GLANCE = {"detail_x": "sharpness", "detail_y": "sharpness", "grain": "grain"}


@dataclass(frozen=True)
class Row:
    """One criterion of one session; values of "one" and "other", NaN where there is none.

    `claimed` names the setting that the library calls better, `glance` the one that the shortcut
    prefers, `truly_better` the one that is; `declined` says why there is no verdict.
    """

    seed: int
    subject: str
    prints: int
    camera_known: int
    criterion: str
    true_one: float
    true_other: float
    one: float
    one_low: float
    one_high: float
    other: float
    other_low: float
    other_high: float
    smallest_difference: float
    truly_better: str
    claimed: str
    glance: str
    faults: str
    warned: int
    declined: str


def rows_of(session: dict[str, Any]) -> list[Row]:
    """Rank the measurements of a session and hold each criterion against the truth."""
    shots: dict[str, list[Measurement]] = {"one": [], "other": []}
    for outcome in session["outcomes"]:
        shots[outcome["setting"]].append(_measurement(outcome["measured"]))
    common = {
        "seed": session["seed"],
        "subject": session["subject"],
        "prints": session["prints"],
        "camera_known": int(session["camera_known"]),
        "faults": "; ".join(dict.fromkeys(o["fault"] for o in session["outcomes"] if o["fault"])),
        "warned": int(any(_fault_warnings(m) for found in shots.values() for m in found)),
    }
    try:
        ranking = rank(shots)
    except NotFitError:
        reasons = {caution_text(r) for found in shots.values() for m in found for r in m.reasons}
        return [_declined(session, common, c, "; ".join(sorted(reasons))) for c in CRITERIA]
    rows = []
    for name in CRITERIA:
        places = {p.setting: p for p in ranking.criteria[name].places}
        if len(places) < 2:
            rows.append(_declined(session, common, name, "a setting has no value"))
            continue
        one, other = places["one"], places["other"]
        claimed = "" if one.place == other.place else min(places, key=lambda s: places[s].place)
        smallest = ranking.criteria[name].smallest_difference
        rows.append(
            Row(
                **common,
                **_truth(session, name),
                criterion=name,
                one=one.value,
                one_low=one.low,
                one_high=one.high,
                other=other.value,
                other_low=other.low,
                other_high=other.high,
                smallest_difference=np.nan if smallest is None else smallest,
                claimed=claimed,
                declined="",
            )
        )
    return rows


def write_rows(sessions: Iterable[dict[str, Any]], path: Path) -> list[Row]:
    """Write the rows of all sessions as CSV, and return them as they stand there."""
    rows = [row for session in sessions for row in rows_of(session)]
    with path.open("w", newline="") as file:
        writer = csv.DictWriter(file, [f.name for f in fields(Row)])
        writer.writeheader()
        writer.writerows(
            {k: f"{v:.5g}" if isinstance(v, float) else v for k, v in asdict(row).items()}
            for row in rows
        )
    return read_rows(path)


def read_rows(path: Path) -> list[Row]:
    """Read what `write_rows` wrote."""
    kinds = get_type_hints(Row)
    with path.open(newline="") as file:
        return [Row(**{k: kinds[k](v) for k, v in row.items()}) for row in csv.DictReader(file)]


def _declined(session: dict[str, Any], common: dict[str, Any], name: str, reason: str) -> Row:
    values = ("one", "one_low", "one_high", "other", "other_low", "other_high")
    nothing = dict.fromkeys((*values, "smallest_difference"), np.nan)
    truth = _truth(session, name)
    return Row(**common, **truth, **nothing, criterion=name, claimed="", declined=reason)


def _truth(session: dict[str, Any], name: str) -> dict[str, Any]:
    """True values, which setting they prefer, and which one the glance prefers.

    One print cannot tell how grain varies from print to print, and the library says so: its
    verdict, and the truth here, is then on the prints in hand.
    """
    true, glances = {}, {}
    for setting in ("one", "other"):
        own = [o for o in session["outcomes"] if o["setting"] == setting]
        in_hand = name == "grain" and session["prints"] == 1
        true[setting] = own[0]["print_grain"] if in_hand else session["truth"][setting][name]
        glances[setting] = float(np.mean([o["glances"][GLANCE[name]] for o in own]))
    choose = max if RANKED[name].better == "higher" else min
    better = "" if true["one"] == true["other"] else choose(true, key=lambda s: true[s])
    return {
        "true_one": true["one"],
        "true_other": true["other"],
        "truly_better": better,
        "glance": choose(glances, key=lambda s: glances[s]),
    }


def _fault_warnings(measurement: Measurement) -> list[str]:
    """Warnings that a careful simulated photograph with a known camera would not carry."""
    usual = ("simulated", "camera included")
    warnings = map(caution_text, measurement.warnings)
    return [w for w in warnings if not any(word in w for word in usual)]


def _measurement(plain: dict[str, Any]) -> Measurement:
    numbers = {
        name: Number(
            n["value"],
            -np.inf if n["low"] is None else n["low"],
            np.inf if n["high"] is None else n["high"],
            n["unit"],
        )
        for name, n in plain["numbers"].items()
    }
    return Measurement(
        path=plain["path"],
        sha256=plain["sha256"],
        print_id=plain["print"],
        run=plain["run"],
        sent_ppi=plain["sent_ppi"],
        fit=plain["fit"],
        reasons=tuple(plain["reasons"]),
        warnings=tuple(plain["warnings"]),
        numbers=numbers,
    )
