"""One number from all criteria: declared weights, in steps that an eye can just tell apart."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.compare.prints import PrintValue, Sample, sample
from dotloupe.errors import InputError
from dotloupe.units import NORMAL_95

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping, Sequence

    from dotloupe.compare.visibility import VisibleScale
    from dotloupe.measurement import Measurement

DEFAULT_WEIGHTS: Mapping[str, float] = {
    "detail_x": 0.25,
    "detail_y": 0.25,
    "line_pairs_x": 0.25,
    "line_pairs_y": 0.25,
    "grain": 1.0,
}
"""Sharpness and grain count in full; sharpness is the mean of two directions and two measures."""

PICTURE_WEIGHTS: Mapping[str, float] = {"response_x": 0.5, "response_y": 0.5}
"""Where only one's own picture was photographed: sharpness alone."""

SHARPNESS = ("detail_x", "detail_y", "line_pairs_x", "line_pairs_y", *PICTURE_WEIGHTS)
GRAIN = ("grain",)


@dataclass(frozen=True)
class OverallDetail:
    """What stands behind the overall places.

    Attributes
    ----------
    weights : mapping of str to float
        Share of its visible steps with which each criterion counts, as used. The heavier of
        sharpness and grain counts in full.
    viewing_distance_mm : float
        Distance for which the visible steps hold.
    contributions : mapping of str to mapping of str to float
        Setting to criterion to its share of the overall value, in visible steps ahead of the last
        setting; a setting's shares add up to its overall value.
    winner : str
        The setting with the highest overall value, tied or not.
    winner_by_criterion : mapping of str to str or None
        The setting that this criterion alone tells from all others as the best; None where it
        leaves the lead level.
    winner_depends_on_weights : bool
        Some weights would make another setting the winner, by what the prints tell apart.
    weights_may_change_by : float or None
        The winner stays while no weight is multiplied or divided by more than this factor.
        None where no weights can change the winner.
    """

    weights: Mapping[str, float]
    viewing_distance_mm: float
    contributions: Mapping[str, Mapping[str, float]]
    winner: str
    winner_by_criterion: Mapping[str, str | None]
    winner_depends_on_weights: bool
    weights_may_change_by: float | None


def checked_weights(weights: Mapping[str, float] | None) -> Mapping[str, float]:
    """Return the weights to use, or say what is wrong with those given."""
    if weights is None:
        return DEFAULT_WEIGHTS
    unknown = [name for name in weights if name not in DEFAULT_WEIGHTS]
    if unknown:
        raise InputError(
            f"weight for {unknown[0]}: unknown criterion, use {', '.join(DEFAULT_WEIGHTS)}"
        )
    if any(not np.isfinite(w) or w < 0 for w in weights.values()) or not sum(weights.values()):
        raise InputError("weights must be 0 or more and not all 0: correct them")
    return {name: w for name, w in weights.items() if w > 0}


def overall_samples(
    settings: Mapping[str, Sequence[Measurement]],
    weights: Mapping[str, float],
    scales: Mapping[str, VisibleScale],
) -> tuple[tuple[Sample, ...], Mapping[str, Mapping[str, float]], Mapping[str, float]]:
    """Overall value of every print, in visible steps ahead of the setting that comes last.

    Returns
    -------
    samples : tuple of Sample
        One a setting, in visible steps.
    contributions : mapping of str to mapping of str to float
        Setting to criterion to weighted visible steps ahead of the last setting.
    weights : mapping of str to float
        Shares with which the criteria count that every setting has.
    """
    used = _shares(weights, [c for c in weights if c in scales and _all_have(settings, c)])
    if not used:
        return (), {}, {}
    tables = {s: _print_table(s, shots, used, scales) for s, shots in settings.items()}
    if not all(tables.values()):
        return (), {}, {}
    means = {s: np.mean([steps for steps, _ in t.values()], axis=0) for s, t in tables.items()}
    w = np.array(list(used.values()))
    last = min(means.values(), key=lambda mean: float(w @ mean))
    samples = tuple(
        Sample(
            s,
            tuple(_moved(value, -float(w @ last)) for _, value in table.values()),
        )
        for s, table in tables.items()
    )
    contributions = {
        s: dict(zip(used, (w * (mean - last)).tolist(), strict=True)) for s, mean in means.items()
    }
    return samples, contributions, used


def _moved(value: PrintValue, by: float) -> PrintValue:
    least = None if value.least is None else value.least + by
    return replace(value, value=value.value + by, least=least)


def _shares(weights: Mapping[str, float], present: Sequence[str]) -> dict[str, float]:
    """Weights of what is present, scaled so that the heavier of sharpness and grain counts full.

    Where one measure of sharpness is missing the others take over its weight.
    """
    shares: dict[str, float] = {}
    for quality in (SHARPNESS, GRAIN):
        here = {c: weights[c] for c in quality if c in present}
        if here:
            whole = sum(weights[c] for c in quality if c in weights)
            shares |= {c: w * whole / sum(here.values()) for c, w in here.items()}
    heaviest = max((sum(shares.get(c, 0.0) for c in q) for q in (SHARPNESS, GRAIN)), default=0.0)
    return {c: shares[c] / heaviest for c in weights if c in shares}


def _all_have(settings: Mapping[str, Sequence[Measurement]], criterion: str) -> bool:
    return all(sample(s, shots, criterion) for s, shots in settings.items())


def _print_table(
    setting: str,
    shots: Sequence[Measurement],
    weights: Mapping[str, float],
    scales: Mapping[str, VisibleScale],
) -> dict[str, tuple[np.ndarray, PrintValue]]:
    """Print to its steps by criterion, and its overall value with the error of it."""
    w = np.array(list(weights.values()))
    samples = {c: sample(setting, shots, c) for c in weights}
    by_print = {c: {p.print_id: p for p in s.prints} if s else {} for c, s in samples.items()}
    table = {}
    for print_id in dict.fromkeys(m.print_id for m in shots):
        if not all(print_id in prints for prints in by_print.values()):
            continue
        values = {c: prints[print_id] for c, prints in by_print.items()}
        steps = np.array([scales[c].at_viewing(v.value) for c, v in values.items()])
        errors = np.array([_step_error(scales[c], v) for c, v in values.items()])
        error = float(np.sqrt(np.sum((w * errors) ** 2)))
        photographs = min(v.photographs for v in values.values())
        least = None
        if any(v.least is not None for v in values.values()):
            known = {c: v.value if v.least is None else v.least for c, v in values.items()}
            least = float(w @ np.array([scales[c].at_viewing(v) for c, v in known.items()]))
        whole = PrintValue(print_id, float(w @ steps), error, photographs, least)
        table[print_id] = (steps, whole)
    return table


def _step_error(scale: VisibleScale, value: PrintValue) -> float:
    """Standard error in steps of a print's value."""
    if not np.isfinite(value.standard_error):
        return float("nan")
    half = NORMAL_95 * value.standard_error
    ends = [scale.at_viewing(v) for v in (value.value - half, value.value + half)]
    return abs(ends[1] - ends[0]) / (2 * NORMAL_95)


def overall_detail(
    contributions: Mapping[str, Mapping[str, float]],
    weights: Mapping[str, float],
    viewing_distance_mm: float,
    apart: Mapping[str, Collection[tuple[str, str]]],
) -> OverallDetail:
    """Who wins, and how far the weights may move before another does.

    Only what the prints tell apart counts, which `apart` lists for each criterion as pairs of the
    better and the worse setting. With gains g_c of the winner over a rival, the weights least
    favourable within a factor f are w/f where g > 0 and w f where g < 0: the lead is gone at
    f^2 = sum of gains / sum of losses.
    """
    totals = {s: sum(parts.values()) for s, parts in contributions.items()}
    winner = max(totals, key=totals.__getitem__)
    factors = []
    for rival, parts in contributions.items():
        if rival == winner:
            continue
        gained = [c for c in weights if (winner, rival) in apart[c]]
        lost = [c for c in weights if (rival, winner) in apart[c]]
        gains = sum(contributions[winner][c] - parts[c] for c in gained)
        losses = sum(parts[c] - contributions[winner][c] for c in lost)
        if losses > 0:
            factors.append(float(np.sqrt(max(gains, 0.0) / losses)))
    best = {c: _leader(contributions, apart[c]) for c in weights}
    return OverallDetail(
        weights=dict(weights),
        viewing_distance_mm=viewing_distance_mm,
        contributions=contributions,
        winner=winner,
        winner_by_criterion=best,
        winner_depends_on_weights=bool(factors),
        weights_may_change_by=max(1.0, min(factors)) if factors else None,
    )


def _leader(settings: Iterable[str], apart: Collection[tuple[str, str]]) -> str | None:
    """The setting that is told from all others as the better one, if there is one."""
    names = list(settings)
    ahead = (s for s in names if all((s, other) in apart for other in names if other != s))
    return next(ahead, None)
