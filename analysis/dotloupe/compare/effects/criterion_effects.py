"""One criterion over crossed factors: effects, effects within levels, interactions."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.compare.effects.design import (
    effect_contrasts,
    interaction_contrasts,
    simple_contrasts,
)
from dotloupe.compare.effects.design_cautions import design_cautions
from dotloupe.compare.effects.estimates import Spread, estimates
from dotloupe.compare.effects.spread import family_spreads, moderated
from dotloupe.compare.prints import Sample
from dotloupe.storage import plain

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from dotloupe.cautions import Caution
    from dotloupe.compare.effects.design import (
        Cell,
        EffectContrast,
        Factor,
        InteractionContrast,
    )
    from dotloupe.compare.effects.estimates import Estimate
    from dotloupe.compare.known_spread import KnownSpread
    from dotloupe.number import Criterion


@dataclass(frozen=True)
class Effect:
    """From one level of a factor to another.

    Attributes
    ----------
    contrast : EffectContrast
        Which levels, and what the other factors are held at.
    estimate : Estimate
        End minus start, in the criterion's unit.
    start_mean : float
        Mean at the start level, over the same cells.
    """

    contrast: EffectContrast
    estimate: Estimate
    start_mean: float

    @property
    def percent(self) -> tuple[float, float | None, float | None] | None:
        """Difference and its interval in per cent of the mean at the start."""
        if not self.start_mean:
            return None
        found = self.estimate
        share = 100 / abs(self.start_mean)
        if found.low is None or found.high is None:
            return found.difference * share, None, None
        return found.difference * share, found.low * share, found.high * share

    def to_dict(self) -> dict[str, object]:
        """Plain values for JSON."""
        contrast = self.contrast
        percent = self.percent or (None, None, None)
        return {
            "factor": contrast.factor,
            "from": contrast.start,
            "to": contrast.end,
            "within": plain(contrast.within),
            **plain(self.estimate),
            **dict(zip(("percent", "percent_low", "percent_high"), percent, strict=True)),
            "unpaired": plain(contrast.unpaired),
        }


@dataclass(frozen=True)
class Interaction:
    """Whether the effect of one factor depends on another.

    Attributes
    ----------
    contrast : InteractionContrast
    estimate : Estimate
        Difference of differences, in the criterion's unit.
    ratio : Estimate or None
        The same of logarithms: whether the effects differ as shares of the value too. None where
        a value is not above zero.
    """

    contrast: InteractionContrast
    estimate: Estimate
    ratio: Estimate | None

    def to_dict(self) -> dict[str, object]:
        """Plain values for JSON; `ratio` is the one effect over the other, both as factors."""
        contrast = self.contrast
        return {
            "factors": plain(contrast.factors),
            "from": plain(contrast.start),
            "to": plain(contrast.end),
            **plain(self.estimate),
            "ratio": _ratio(self.ratio),
            "unpaired": plain(contrast.unpaired),
        }


@dataclass(frozen=True)
class CriterionEffects:
    """All effects on one criterion.

    The error of 5 % is kept over each of the three families on its own.

    Attributes
    ----------
    name, unit, better, title : str
        The criterion.
    effects : tuple of Effect
        Averaged over the other factors.
    simple_effects : tuple of Effect
        Within each level of every other factor, averaged over the rest.
    interactions : tuple of Interaction
    samples : mapping of cell to Sample
        Values of the prints.
    spread, interaction_spread : Spread
        By what prints of one cell vary, for effects and for interactions.
    cautions : tuple of Caution
    """

    name: str
    unit: str
    better: str
    title: str
    effects: tuple[Effect, ...]
    simple_effects: tuple[Effect, ...]
    interactions: tuple[Interaction, ...]
    samples: Mapping[Cell, Sample]
    spread: Spread
    interaction_spread: Spread
    cautions: tuple[Caution, ...]

    def to_dict(self, words: Callable[[Caution], str] = str) -> dict[str, object]:
        """Everything, ready for JSON."""
        return {
            "unit": self.unit,
            "better": self.better,
            "title": self.title,
            "effects": [e.to_dict() for e in self.effects],
            "simple_effects": [e.to_dict() for e in self.simple_effects],
            "interactions": [i.to_dict() for i in self.interactions],
            "cells": [
                {"levels": plain(cell), "mean": s.mean, "n": s.n, "prints": plain(s.values)}
                for cell, s in self.samples.items()
            ],
            "spread": plain(self.spread),
            "interaction_spread": plain(self.interaction_spread),
            "cautions": plain(self.cautions, words),
        }


def criterion_effects(
    criterion: Criterion,
    factors: tuple[Factor, ...],
    samples: Mapping[Cell, Sample],
    *,
    known: KnownSpread | None = None,
) -> CriterionEffects:
    """Effects of crossed factors on one criterion.

    Parameters
    ----------
    criterion : Criterion
    factors : tuple of Factor
    samples : mapping of cell to Sample
        Of the cells that have a value.
    known : KnownSpread, optional
        How prints vary by a history, for where none is repeated.

    Returns
    -------
    CriterionEffects
    """
    spread, interaction_spread = family_spreads(factors, samples, known)
    cells = tuple(samples)
    return CriterionEffects(
        name=criterion.name,
        unit=criterion.unit,
        better=criterion.better,
        title=criterion.title,
        effects=_effects(effect_contrasts(factors, cells), samples, spread),
        simple_effects=_effects(
            simple_contrasts(factors, cells), samples, moderated(spread, samples)
        ),
        interactions=_interactions(factors, samples, interaction_spread, known),
        samples=samples,
        spread=spread,
        interaction_spread=interaction_spread,
        cautions=design_cautions(factors, samples, spread, interaction_spread),
    )


def _effects(
    contrasts: Iterable[EffectContrast], samples: Mapping[Cell, Sample], spread: Spread
) -> tuple[Effect, ...]:
    family = tuple(contrasts)
    found = estimates([c.weights for c in family], samples, spread)
    starts = (-sum(w * samples[x].mean for x, w in c.weights.items() if w < 0) for c in family)
    return tuple(map(Effect, family, found, starts))


def _interactions(
    factors: tuple[Factor, ...],
    samples: Mapping[Cell, Sample],
    spread: Spread,
    known: KnownSpread | None,
) -> tuple[Interaction, ...]:
    family = tuple(interaction_contrasts(factors, tuple(samples)))
    weights: Sequence[Mapping[Cell, float]] = [c.weights for c in family]
    found = estimates(weights, samples, spread)
    logarithms = _logarithms(samples)
    if logarithms is None:
        return tuple(Interaction(c, e, None) for c, e in zip(family, found, strict=True))
    of_logarithms = known
    if known is not None and not known.by_ratio:
        mean = float(np.mean([s.mean for s in samples.values()]))
        of_logarithms = replace(known, variance=known.variance / mean**2)
    if of_logarithms is not None:
        of_logarithms = replace(of_logarithms, by_ratio=False)
    _, log_spread = family_spreads(factors, logarithms, of_logarithms)
    return tuple(map(Interaction, family, found, estimates(weights, logarithms, log_spread)))


def _logarithms(samples: Mapping[Cell, Sample]) -> dict[Cell, Sample] | None:
    """Return samples of the values' logarithms; None where one is not above zero."""
    if any(p.value <= 0 for s in samples.values() for p in s.prints):
        return None
    return {
        cell: Sample(
            s.setting,
            tuple(
                replace(p, value=float(np.log(p.value)), standard_error=p.standard_error / p.value)
                for p in s.prints
            ),
        )
        for cell, s in samples.items()
    }


def _ratio(found: Estimate | None) -> dict[str, object] | None:
    if found is None:
        return None
    ends = (found.difference, found.low, found.high)
    values = (None if v is None else float(np.exp(v)) for v in ends)
    return {
        **dict(zip(("value", "low", "high"), values, strict=True)),
        "distinguishable": found.distinguishable,
    }
