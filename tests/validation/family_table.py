"""Tables of the study on the family of printers: claims and intervals against the truths."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import numpy as np

FEWEST_TRUTHS = 3
"""Prints of other sessions from which on their mean stands for the setting."""
Row = Mapping[str, Any]
SETTINGS = ("one", "other")
GROUP_COLUMNS = ("family", "camera", "criterion")
CLAIM_COLUMNS = (
    *GROUP_COLUMNS,
    "verdicts",
    "declined",
    "better claimed",
    "of these wrong by the prints in hand",
    "wrong by the settings",
    "claimed where nothing differs",
)
FAULT_COLUMNS = (
    "wrong, nothing said",
    "wrong, beside what cannot be told",
    "wrong, beside a warning",
)
INTERVAL_COLUMNS = (
    *GROUP_COLUMNS,
    "prints of a setting",
    "values",
    "interval holds these prints' own truth",
    "these prints' edges from the drawn line",
    "the setting's truth",
    "mean error",
    "rms error",
    "half-width",
)


def family_table(rows: Sequence[Row], prints: Sequence[Row]) -> str:
    """Claims and coverage by family, way of the camera and criterion."""
    true = SettingTruths(prints)
    lines = _head(CLAIM_COLUMNS)
    for (family, way, criterion), group in _groups(rows):
        judged = [r for r in group if not r["declined"]]
        claims = [r for r in judged if r["claimed"]]
        known = [r for r in claims if true.better(r)]
        nothing = [r for r in judged if r["subject"] == "nothing"]
        lines.append(
            f"| {family} | {way} | {criterion} | {len(group)} | {len(group) - len(judged)} "
            f"| {len(claims)} "
            f"| {sum(r['claimed'] != better_print(r) for r in claims)} of {len(claims)} "
            f"| {sum(r['claimed'] != true.better(r) for r in known)} of {len(known)} "
            f"| {sum(bool(r['claimed']) for r in nothing)} of {len(nothing)} |"
        )
    lines += ["", *_head(INTERVAL_COLUMNS)]
    for (family, way, criterion), group in _groups(rows):
        for number in ("1", "2"):
            values = [v for r in group for v in _values(r, true) if r["prints"] == number]
            if values:
                cells = " | ".join(_coverage(np.array(values)))
                lines.append(f"| {family} | {way} | {criterion} | {number} | {cells} |")
    return "\n".join(lines)


def fault_table(rows: Sequence[Row], _: Sequence[Row]) -> str:
    """Claims from faulty photographs, by whether a warning stands beside them."""
    lines = _head((*GROUP_COLUMNS, "verdicts", "declined", "warned", *FAULT_COLUMNS))
    for (family, way, criterion), group in _groups(rows):
        judged = [r for r in group if not r["declined"]]
        claims = [r for r in judged if r["claimed"]]
        counts = [
            f"{sum(r['claimed'] != better_print(r) for r in part)} of {len(part)}"
            for part in (
                [r for r in claims if not (r["warned"] or r["untold"])],
                [r for r in claims if r["untold"] and not r["warned"]],
                [r for r in claims if r["warned"]],
            )
        ]
        lines.append(
            f"| {family} | {way} | {criterion} | {len(group)} | {len(group) - len(judged)} "
            f"| {sum(bool(r['warned']) for r in judged)} | {' | '.join(counts)} |"
        )
    return "\n".join(lines)


def _head(columns: Sequence[str]) -> list[str]:
    return [f"| {' | '.join(columns)} |", "|---" * len(columns) + "|"]


class SettingTruths:
    """What is true of a setting: the mean over its prints of other sessions."""

    def __init__(self, prints: Iterable[Row]) -> None:
        self._prints = defaultdict(list)
        for p in prints:
            self._prints[p["printer"], p["sent_ppi"], p["method"]].append(p)

    def of(self, row: Row, setting: str) -> float:
        """Mean; of logarithms, as detail is combined. NaN where too few prints are known."""
        key = (row["printer"], row[f"{setting}_sent_ppi"], row[f"{setting}_method"])
        mine = int(row["session"])
        others = [p for p in self._prints[key] if not _made_in(mine, int(p["seed"]))]
        if len(others) < FEWEST_TRUTHS:
            return float("nan")
        return float(np.exp(np.mean(np.log([float(p[row["criterion"]]) for p in others]))))

    def better(self, row: Row) -> str:
        """The setting that is truly better, "none" where they are one, "" where not known."""
        if row["subject"] == "nothing":
            return "none"
        true = {s: self.of(row, s) for s in SETTINGS}
        return _better(row, true) if np.isfinite(list(true.values())).all() else ""


def better_print(row: Row) -> str:
    """Of which setting the prints in hand are truly better."""
    return _better(row, {s: float(row[f"{s}_own"]) for s in SETTINGS})


def _better(row: Row, true: Mapping[str, float]) -> str:
    choose = min if row["criterion"] == "grain" else max
    return choose(true, key=lambda s: true[s])


def _made_in(session: int, seed: int) -> bool:
    return 1000 + 10 * session <= seed < 1010 + 10 * session


def _groups(rows: Iterable[Row]) -> list[tuple[tuple[str, str, str], list[Row]]]:
    groups = defaultdict(list)
    for row in rows:
        groups[row["family"], row["way"], row["criterion"]].append(row)
    return sorted(groups.items())


def _values(row: Row, true: SettingTruths) -> list[tuple[float, ...]]:
    """Value, ends, and truths of both settings of a row."""
    if row["declined"]:
        return []
    return [
        (
            *(float(row[f"{s}{end}"]) for end in ("", "_low", "_high", "_own", "_drawn_line")),
            true.of(row, s),
        )
        for s in SETTINGS
    ]


def _coverage(values: np.ndarray) -> list[str]:
    value, low, high, own, drawn, setting = values.T
    held = []
    for truth in (own, drawn, setting):
        known = np.isfinite(truth)
        inside = ((low <= truth) & (truth <= high))[known]
        held.append(f"{100 * inside.mean():.1f} % of {known.sum()}" if known.any() else "-")
    off = 100 * np.log(value / own)
    return [
        str(len(values)),
        *held,
        f"{off.mean():+.1f} %",
        f"{np.sqrt(np.mean(off**2)):.1f} %",
        f"{100 * np.mean((high - low) / 2 / value):.1f} %",
    ]
