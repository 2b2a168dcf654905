"""One number from all criteria: declared weights, in steps that an eye can just tell apart."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.compare.gather import NORMAL_95, PrintValue, Sample, print_value
from dotloupe.compare.steps import STEPS
from dotloupe.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from dotloupe.measurement import Measurement, Number

DEFAULT_WEIGHTS: Mapping[str, float] = {
    "detail_x": 0.125,
    "detail_y": 0.125,
    "line_pairs_x": 0.125,
    "line_pairs_y": 0.125,
    "grain": 0.5,
}
"""Sharpness and grain count alike; sharpness is shared by its two directions and two measures."""


@dataclass(frozen=True)
class OverallDetail:
    """What stands behind the overall places.

    Attributes
    ----------
    weights : mapping of str to float
        Weight of each criterion, with sum 1, as used.
    viewing_distance_mm : float
        Distance for which the visible steps hold.
    contributions : mapping of str to mapping of str to float
        Setting to criterion to its share of the overall value, in visible steps against the mean
        of the settings; a setting's shares add up to its overall value.
    winner : str
        The setting with the highest overall value, tied or not.
    winner_by_criterion : mapping of str to str
        The setting that would lead if this criterion had all the weight.
    winner_depends_on_weights : bool
        Some weights would make another setting the winner.
    weights_may_change_by : float or None
        The winner stays while no weight is multiplied or divided by more than this factor.
        None where no weights can change the winner.
    """

    weights: Mapping[str, float]
    viewing_distance_mm: float
    contributions: Mapping[str, Mapping[str, float]]
    winner: str
    winner_by_criterion: Mapping[str, str]
    winner_depends_on_weights: bool
    weights_may_change_by: float | None


def checked_weights(weights: Mapping[str, float] | None) -> Mapping[str, float]:
    """Return the weights to use, or say what is wrong with those given."""
    if weights is None:
        return DEFAULT_WEIGHTS
    unknown = [name for name in weights if name not in STEPS]
    if unknown:
        raise InputError(f"weight for {unknown[0]}: unknown criterion, use {', '.join(STEPS)}")
    if any(not np.isfinite(w) or w < 0 for w in weights.values()) or not sum(weights.values()):
        raise InputError("weights must be 0 or more and not all 0: correct them")
    return {name: w for name, w in weights.items() if w > 0}


def overall_samples(
    settings: Mapping[str, Sequence[Measurement]],
    weights: Mapping[str, float],
    viewing_distance_mm: float,
) -> tuple[tuple[Sample, ...], Mapping[str, Mapping[str, float]], Mapping[str, float]]:
    """Overall value of every print, against the mean of the settings.

    Returns
    -------
    samples : tuple of Sample
        One a setting, in visible steps.
    contributions : mapping of str to mapping of str to float
        Setting to criterion to weighted visible steps against the mean of the settings.
    weights : mapping of str to float
        Normalised weights of the criteria that every setting has.
    """
    used = {
        c: w for c, w in weights.items() if all(_any_has(shots, c) for shots in settings.values())
    }
    total = sum(used.values())
    used = {c: w / total for c, w in used.items()}
    if not used:
        return (), {}, {}
    tables = {s: _print_table(shots, used, viewing_distance_mm) for s, shots in settings.items()}
    if not all(tables.values()):
        return (), {}, {}
    means = {
        s: np.mean([steps for steps, _ in table.values()], axis=0) for s, table in tables.items()
    }
    centre = np.mean(list(means.values()), axis=0)
    w = np.array(list(used.values()))
    samples = tuple(
        Sample(
            s,
            tuple(
                replace(value, print_id=print_id, value=float(w @ (steps - centre)))
                for print_id, (steps, value) in table.items()
            ),
        )
        for s, table in tables.items()
    )
    contributions = {
        s: dict(zip(used, (w * (mean - centre)).tolist(), strict=True)) for s, mean in means.items()
    }
    return samples, contributions, used


def _any_has(shots: Sequence[Measurement], criterion: str) -> bool:
    return any(_has(m, criterion) for m in shots)


def _has(m: Measurement, criterion: str) -> bool:
    return criterion in m.numbers and bool(np.isfinite(m.numbers[criterion].value))


def _print_table(
    shots: Sequence[Measurement], weights: Mapping[str, float], distance_mm: float
) -> dict[str, tuple[np.ndarray, PrintValue]]:
    """Print to its mean steps by criterion, and its overall value with the error of it."""
    w = np.array(list(weights.values()))
    by_print: dict[str, list[tuple[np.ndarray, float]]] = {}
    for m in shots:
        if not all(_has(m, c) for c in weights):
            continue
        parts = [_steps(c, m.numbers[c], distance_mm) for c in weights]
        steps = np.array([p[0] for p in parts])
        error = float(np.sqrt(np.sum((w * np.array([p[1] for p in parts])) ** 2)))
        if np.all(np.isfinite(steps)):
            by_print.setdefault(m.print_id, []).append((steps, error))
    table = {}
    for print_id, rows in by_print.items():
        mean = np.mean([steps for steps, _ in rows], axis=0)
        value = print_value(print_id, [(float(w @ steps), error) for steps, error in rows])
        table[print_id] = (mean, value)
    return table


def _steps(criterion: str, number: Number, distance_mm: float) -> tuple[float, float]:
    """Steps of a number and their standard error by the number's interval."""
    steps = STEPS[criterion]
    ends = [steps(end, distance_mm) for end in (number.low, number.high)]
    error = abs(ends[1] - ends[0]) / (2 * NORMAL_95) if np.all(np.isfinite(ends)) else np.nan
    return steps(number.value, distance_mm), error


def overall_detail(
    contributions: Mapping[str, Mapping[str, float]],
    weights: Mapping[str, float],
    viewing_distance_mm: float,
) -> OverallDetail:
    """Who wins, and how far the weights may move before another does.

    With gains g_c of the winner over a rival, the weights least favourable within a factor f are
    w/f where g > 0 and w f where g < 0: the lead is gone at f^2 = sum of gains / sum of losses.
    """
    totals = {s: sum(parts.values()) for s, parts in contributions.items()}
    winner = max(totals, key=totals.__getitem__)
    factors = []
    for rival, parts in contributions.items():
        if rival == winner:
            continue
        lead = np.array([contributions[winner][c] - parts[c] for c in weights])
        losses = -lead[lead < 0].sum()
        if losses > 0:
            factors.append(float(np.sqrt(lead[lead > 0].sum() / losses)))
    best = {c: max(contributions, key=lambda s, c=c: contributions[s][c]) for c in weights}  # type: ignore[misc]
    return OverallDetail(
        weights=dict(weights),
        viewing_distance_mm=viewing_distance_mm,
        contributions=contributions,
        winner=winner,
        winner_by_criterion=best,
        winner_depends_on_weights=bool(factors),
        weights_may_change_by=max(1.0, min(factors)) if factors else None,
    )
