"""The table of the validation study, as Markdown."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from sessions import RANGES
from truths import CRITERIA

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from rows import Row

WORST = 10
WHAT = """\
All prints and photographs are simulated. Written by `python tests/validation/study.py`; the rows
behind it are `sessions.csv` and `faulty.csv`; what to make of them is in `README.md`."""
WHICH_TRUTH = """\
Each session: one printer, paper and camera, two settings that differ in one thing, one or two
prints of each, one photograph of every print. The truth is that of the settings, over other prints
and places than those measured; but where one print was made of each, the truth of grain is that of
the prints in hand, for which alone the library then speaks."""
SUMMARY_COLUMNS = (
    "criterion",
    "sessions",
    "declined",
    "better claimed",
    "of these wrong",
    "claimed where nothing differs",
    "true difference beyond the smallest",
    "of these claimed rightly",
    "of these in the right order",
    "all in the right order",
    "a glance in the right order",
)
INTERVAL_COLUMNS = (
    "criterion",
    "camera",
    "prints of a setting",
    "values",
    "interval holds the truth",
    "mean error",
    "rms error",
    "median half-width / 1.96",
)


def write_table(rows: Sequence[Row], path: Path) -> str:
    """Write the tables of the careful and of the faulty sessions, and return the text."""
    clean = [r for r in rows if not r.faults]
    faulty = [r for r in rows if r.faults]
    parts = [
        "# Validation on invented test sessions",
        WHAT,
        WHICH_TRUTH,
        RANGES,
        "## Careful photographs",
        _summary(clean),
        "### Intervals and errors",
        _intervals(clean),
        "### The worst cases",
        _worst(clean),
    ]
    if faulty:
        parts += ["## Every photograph with a fault", _summary(faulty), _faults(faulty)]
    text = "\n\n".join(parts) + "\n"
    path.write_text(text)
    return text


def _summary(rows: Sequence[Row]) -> str:
    """Verdicts by criterion: of the library, and of a glance."""
    lines = [
        f"| {' | '.join(SUMMARY_COLUMNS)} |",
        "|---" * len(SUMMARY_COLUMNS) + "|",
    ]
    for name, chosen in _by_criterion(rows):
        decided = [r for r in chosen if r.truly_better]
        judged = [r for r in chosen if not r.declined]
        real = [r for r in judged if r.truly_better]
        claimed = [r for r in judged if r.claimed]
        wrong = [r for r in claimed if r.claimed != r.truly_better]
        null = [r for r in judged if not r.truly_better]
        large = [r for r in real if abs(r.true_one - r.true_other) > r.smallest_difference]
        right = [r for r in large if r.claimed == r.truly_better]
        lines.append(
            f"| {name} | {len(chosen)} | {len(chosen) - len(judged)} | {len(claimed)} "
            f"| {_share(wrong, claimed)} | {_share([r for r in null if r.claimed], null)} "
            f"| {len(large)} | {_share(right, large)} "
            f"| {_share([r for r in large if _in_order(r)], large)} "
            f"| {_share([r for r in real if _in_order(r)], real)} "
            f"| {_share([r for r in decided if r.glance == r.truly_better], decided)} |"
        )
    return "\n".join(lines)


def _intervals(rows: Sequence[Row]) -> str:
    """How often the 95 % intervals hold the truth, and how far the values lie from it."""
    lines = [
        f"| {' | '.join(INTERVAL_COLUMNS)} |",
        "|---" * len(INTERVAL_COLUMNS) + "|",
    ]
    for name, chosen in _by_criterion(rows):
        for known, word in ((1, "taken out"), (0, "included")):
            judged = [r for r in chosen if not r.declined and r.camera_known == known]
            for prints in ("all", "1", "2"):
                group = [r for r in judged if prints in ("all", str(r.prints))]
                if group:
                    lines.append(f"| {name} | {word} | {prints} | {_coverage(group)} |")
    return "\n".join(lines)


def _coverage(rows: Sequence[Row]) -> str:
    """Cells for the values of both settings of these rows."""
    columns = ("{}", "{}_low", "{}_high", "true_{}")
    value, low, high, true = (
        np.array([getattr(r, c.format(s)) for r in rows for s in ("one", "other")]) for c in columns
    )
    errors, held = value / true - 1, (low <= true) & (true <= high)
    half = (high - low) / 2 / value / 1.96
    cells = (
        str(held.size),
        f"{100 * held.mean():.1f} %",
        f"{100 * errors.mean():+.1f} %",
        f"{100 * np.sqrt(np.mean(errors**2)):.1f} %",
        f"{100 * np.median(half):.1f} %",
    )
    return " | ".join(cells)


def _worst(rows: Sequence[Row]) -> str:
    """Sessions whose difference is furthest from the true one, in units of its own interval."""
    judged = [r for r in rows if not r.declined]
    ordered = sorted(judged, key=_strangeness, reverse=True)[:WORST]
    lines = [
        "| session | subject | camera | prints | criterion | true | measured | claimed |",
        "|---|---|---|---|---|---|---|---|",
    ]
    lines += [
        f"| {r.seed} | {r.subject} | {'taken out' if r.camera_known else 'included'} "
        f"| {r.prints} | {r.criterion} "
        f"| {r.true_one:.3g}, {r.true_other:.3g} "
        f"| {r.one:.3g} [{r.one_low:.3g}, {r.one_high:.3g}], "
        f"{r.other:.3g} [{r.other_low:.3g}, {r.other_high:.3g}] "
        f"| {r.claimed or 'no difference'} |"
        for r in ordered
    ]
    return "\n".join(lines)


def _faults(rows: Sequence[Row]) -> str:
    """What became of faulty photographs, session by session."""
    sessions = {r.seed: r for r in rows}.values()
    declined = sum(bool(r.declined) for r in sessions)
    warned = sum(not r.declined and bool(r.warned) for r in sessions)
    wrong = [r for r in rows if not r.declined and r.claimed and r.claimed != r.truly_better]
    silent = [r for r in wrong if not r.warned]
    return (
        f"Of {len(sessions)} sessions {declined} were declined as not fit and {warned} judged with "
        f"a warning. {len(wrong)} verdicts of {sum(bool(r.claimed) for r in rows)} named the wrong "
        f"setting, {len(silent)} of them without any warning."
    )


def _by_criterion(rows: Sequence[Row]) -> list[tuple[str, list[Row]]]:
    return [(name, [r for r in rows if r.criterion == name]) for name in CRITERIA]


def _share(part: Sequence[Row], whole: Sequence[Row]) -> str:
    return f"{len(part)} of {len(whole)} ({100 * len(part) / len(whole):.1f} %)" if whole else "-"


def _in_order(row: Row) -> bool:
    return (row.one - row.other) * (row.true_one - row.true_other) > 0


def _strangeness(row: Row) -> float:
    half = np.hypot(row.one_high - row.one_low, row.other_high - row.other_low) / 2
    return float(abs((row.one - row.other) - (row.true_one - row.true_other)) / max(half, 1e-12))
