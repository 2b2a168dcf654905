"""Crossed factors: what each choice does to every criterion, and what it costs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from dotloupe.compare.cautions import carried_by_all
from dotloupe.compare.effects.costs import CostDifference, CostKind, cost_differences
from dotloupe.compare.effects.criterion_effects import CriterionEffects, criterion_effects
from dotloupe.compare.effects.curves import Curves, curves
from dotloupe.compare.effects.design import Factor, factors_of
from dotloupe.compare.pairs import FAMILY_ERROR, POWER
from dotloupe.compare.prints import (
    LeftOut,
    camera_parameters,
    capture_identity,
    gather,
    photographs_of,
    sample,
)
from dotloupe.compare.set_ups import set_up_cautions
from dotloupe.errors import InputError
from dotloupe.measurement import criteria_of
from dotloupe.storage import plain, program_version

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from dotloupe.cautions import Caution
    from dotloupe.compare.effects.design import Cell, Level
    from dotloupe.compare.known_spread import KnownSpread
    from dotloupe.measurement import Measurement


@dataclass(frozen=True)
class Effects:
    """Effects of crossed factors on every criterion.

    Attributes
    ----------
    factors : tuple of Factor
    criteria : mapping of str to CriterionEffects
    cells : mapping of str to cell
        Setting to its level of every factor, of those with a fit capture.
    measurements : mapping of str to tuple of Measurement
        The fit measurements of each setting.
    costs : tuple of CostDifference
        What the levels of each factor cost, where all settings note it.
    curves : tuple of Curves
        Ladders over the ppi sent, where it is a factor beside others.
    cautions : tuple of Caution
        Those that every criterion carries.
    left_out, parameters, version
        As in `Ranking`.
    viewing_distance_mm : float or None
        For which the prints were measured, where it is known.
    """

    factors: tuple[Factor, ...]
    criteria: Mapping[str, CriterionEffects]
    cells: Mapping[str, Cell]
    measurements: Mapping[str, tuple[Measurement, ...]]
    costs: tuple[CostDifference, ...]
    curves: tuple[Curves, ...]
    left_out: tuple[LeftOut, ...]
    cautions: tuple[Caution, ...]
    parameters: Mapping[str, Any]
    version: str
    viewing_distance_mm: float | None = None

    def to_dict(self, words: Callable[[Caution], str] = str) -> dict[str, object]:
        """Everything but the curves of the captures, ready for JSON.

        Parameters
        ----------
        words : callable
            What is written of a caution; its name by default.
        """
        captures = {
            setting: [capture_identity(m) for m in photographs_of(shots)]
            for setting, shots in self.measurements.items()
        }
        return {
            "factors": plain(self.factors),
            "settings": {
                setting: {f.name: level for f, level in zip(self.factors, cell, strict=True)}
                for setting, cell in self.cells.items()
            },
            "criteria": {name: c.to_dict(words) for name, c in self.criteria.items()},
            "costs": [c.to_dict() for c in self.costs],
            "curves": [{**plain(c), "differ": c.differ} for c in self.curves],
            "captures": plain(captures),
            "left_out": plain(self.left_out, words),
            "cautions": plain(self.cautions, words),
            "parameters": plain(self.parameters),
            "version": self.version,
        }


def effects(
    settings: Mapping[str, Iterable[Any]],
    levels: Mapping[str, Mapping[str, Level]],
    *,
    costs: Mapping[str, Mapping[CostKind, float]] | None = None,
    known_spreads: Mapping[str, KnownSpread] | None = None,
) -> Effects:
    """Effects of crossed factors and their interactions, on every criterion.

    Parameters
    ----------
    settings : mapping of str to iterable of Capture or Measurement
        Setting to the photographs of its prints. The replicate is a print.
    levels : mapping of str to mapping of str to str or float
        Setting to its level of every factor; a factor that never varies is left out.

    costs : mapping of str to mapping of CostKind to float, optional
        Setting to what a print of it costs.
    known_spreads : mapping of str to KnownSpread, optional
        How prints vary by a history, by criterion, for where none is repeated.

    Returns
    -------
    Effects

    Raises
    ------
    InputError
        No factor varies, two settings have the same levels, or a photograph is in two of them.
    NotFitError
        Fewer than two settings with a capture fit to be measured.
    """
    factors = factors_of([levels[s] for s in settings])
    owner: dict[Cell, str] = {}
    for setting in settings:
        cell = tuple(levels[setting][f.name] for f in factors)
        if owner.setdefault(cell, setting) != setting:
            raise InputError(
                f"{setting}: the same levels as {owner[cell]}; name what differs as a factor"
            )
    gathered = gather(settings, at_least=2, noun="setting")
    shots = {str(s): m for s, m in gathered.settings.items()}
    cells = {setting: cell for cell, setting in owner.items() if setting in shots}
    known = criteria_of(m for group in shots.values() for m in group)
    criteria = {}
    for name, criterion in known.items():
        samples = {cells[k]: s for k, m in shots.items() if (s := sample(k, m, name))}
        criteria[name] = criterion_effects(
            criterion, factors, samples, known=(known_spreads or {}).get(name)
        )
    return Effects(
        factors=factors,
        criteria=criteria,
        cells=cells,
        measurements=shots,
        costs=tuple(cost_differences(factors, {cells[s]: (costs or {}).get(s, {}) for s in cells})),
        curves=curves(factors, criteria, {cells[s]: m for s, m in shots.items()}),
        left_out=gathered.left_out,
        cautions=(
            *gathered.cautions,
            *set_up_cautions(shots),
            *carried_by_all([c.cautions for c in criteria.values() if c.samples]),
        ),
        parameters={
            "family_error": FAMILY_ERROR,
            "power": POWER,
            **camera_parameters(shots.values()),
        },
        version=program_version(),
    )
