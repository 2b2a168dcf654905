"""Settings ranked by each criterion, with ties where repeats do not tell them apart."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from dotloupe.compare.cautions import MixedSentPpi, NotInOverall, carried_by_all
from dotloupe.compare.pairs import FAMILY_ERROR, POWER
from dotloupe.compare.prints import (
    LeftOut,
    camera_parameters,
    capture_identity,
    gather,
    photographs_of,
    sample,
)
from dotloupe.compare.ranking.criterion_ranking import CriterionRanking, rank_criterion
from dotloupe.compare.ranking.overall import (
    PICTURE_WEIGHTS,
    OverallDetail,
    checked_weights,
    overall_detail,
    overall_samples,
)
from dotloupe.compare.scope import Scope, scope_of
from dotloupe.compare.set_ups import set_up_cautions
from dotloupe.compare.visibility import (
    PairVisibility,
    VisibleScale,
    pair_visibility,
    visible_scales,
)
from dotloupe.errors import InputError
from dotloupe.measurement import criteria_of
from dotloupe.number import OVERALL, PICTURE_CRITERIA
from dotloupe.storage import plain, program_version
from dotloupe.units import VIEWING_DISTANCE_MM

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from dotloupe.capture import Capture
    from dotloupe.cautions import Caution
    from dotloupe.compare.known_spread import KnownSpread
    from dotloupe.measurement import Measurement


@dataclass(frozen=True)
class Ranking:
    """Settings against each other on every criterion.

    The error of 5 % is kept over all pairs of one criterion, and for each criterion on its own.

    Attributes
    ----------
    criteria : mapping of str to CriterionRanking
        Keyed by criterion; the last is "overall".
    overall : OverallDetail or None
        Weights, contributions and what the winner depends on; None where settings share no
        criterion.
    scales : mapping of str to VisibleScale
        Criteria in just visible steps, by distance.
    visibility : tuple of PairVisibility
        From how far the leading setting differs from every other one to the eye, the last of the
        ranking first.
    measurements : mapping of str to tuple of Measurement
        The fit measurements of each setting, with their curves.
    left_out : tuple of LeftOut
        Captures that were not fit.
    cautions : tuple of Caution
        What holds for the whole ranking.
    viewing_distance_mm : float
        Distance at which the visible steps of "overall" are counted.
    parameters : mapping of str to object
        Every parameter of the comparison.
    version : str
        Of the program.
    """

    criteria: Mapping[str, CriterionRanking]
    overall: OverallDetail | None
    scales: Mapping[str, VisibleScale]
    visibility: tuple[PairVisibility, ...]
    measurements: Mapping[str, tuple[Measurement, ...]]
    left_out: tuple[LeftOut, ...]
    cautions: tuple[Caution, ...]
    viewing_distance_mm: float
    parameters: Mapping[str, object]
    version: str

    @property
    def settings(self) -> tuple[str, ...]:
        """Names of the settings, as given."""
        return tuple(self.measurements)

    @property
    def scope(self) -> Scope:
        """Return "prints" where no setting was printed twice, so that none is spoken of."""
        return scope_of(p.n for c in self.criteria.values() for p in c.places)

    def to_dict(self, words: Callable[[Caution], str] = str) -> dict[str, object]:
        """Everything but the curves, ready for JSON.

        Parameters
        ----------
        words : callable
            What is written of a caution; its name by default.
        """
        captures = {
            setting: [
                {
                    **capture_identity(m),
                    "sent_ppi": m.sent_ppi,
                    "warnings": m.warnings,
                    "camera": m.parameters.camera,
                    "response": m.response,
                }
                for m in photographs_of(shots)
            ]
            for setting, shots in self.measurements.items()
        }
        return {
            "criteria": {
                name: {key: value for key, value in plain(c, words).items() if key != "name"}
                for name, c in self.criteria.items()
            },
            "overall": plain(self.overall),
            "seen": plain(self.visibility),
            "captures": plain(captures, words),
            "left_out": plain(self.left_out, words),
            "cautions": plain(self.cautions, words),
            "parameters": plain(self.parameters),
            "version": self.version,
        }


def rank(
    settings: Mapping[str, Iterable[Capture | Measurement]],
    *,
    weights: Mapping[str, float] | None = None,
    viewing_distance_mm: float = VIEWING_DISTANCE_MM,
    known_spreads: Mapping[str, KnownSpread] | None = None,
) -> Ranking:
    """Rank settings by what their prints show.

    Parameters
    ----------
    settings : mapping of str to iterable of Capture or Measurement
        Setting to the photographs of its prints. The replicate is a print: photographs that share
        a `print_id` are averaged first.
    weights : mapping of str to float, optional
        Weights of the criteria in "overall"; they are scaled so that the heavier of sharpness and
        grain counts in full.
    viewing_distance_mm : float
        Distance at which the visible steps of "overall" are counted.
    known_spreads : mapping of str to KnownSpread, optional
        How prints are known to vary, by criterion, as a printer's history says. It joins the
        present spread where a test leaves nothing against one spread of both.

    Returns
    -------
    Ranking

    Raises
    ------
    InputError
        Fewer than two settings, one photograph in two settings, impossible weights.
    NotFitError
        Fewer than two settings with a capture fit to be measured.
    """
    if not viewing_distance_mm > 0:
        raise InputError(f"viewing distance {viewing_distance_mm} mm: give one above 0")
    checked_weights(weights)
    gathered = gather(settings, at_least=2, noun="setting")
    shots: dict[str, tuple[Measurement, ...]] = {str(s): m for s, m in gathered.settings.items()}
    known = criteria_of(m for group in shots.values() for m in group)
    criteria = {
        name: rank_criterion(
            criterion,
            [s for k, m in shots.items() if (s := sample(k, m, name))],
            list(shots),
            known=(known_spreads or {}).get(name),
        )
        for name, criterion in known.items()
    }
    wanted = _wanted(weights, criteria)
    scales = visible_scales(shots, viewing_distance_mm)
    samples, contributions, used = overall_samples(shots, wanted, scales)
    criteria[OVERALL.name] = rank_criterion(OVERALL, samples, list(shots))
    of_all = carried_by_all([c.cautions for c in criteria.values() if c.places])
    cautions: list[Caution] = [*gathered.cautions, *of_all, *_cautions(shots)]
    missing = tuple(
        c for c in wanted if c not in used and (weights or (c in criteria and criteria[c].places))
    )
    cautions += [NotInOverall(missing)] if missing else []
    pairs = _distinguishable(criteria, used)
    overall = overall_detail(contributions, used, viewing_distance_mm, pairs) if used else None
    return Ranking(
        criteria=criteria,
        overall=overall,
        scales=scales,
        visibility=_visibility(shots, criteria, scales, viewing_distance_mm),
        measurements=shots,
        left_out=gathered.left_out,
        cautions=tuple(cautions),
        viewing_distance_mm=float(viewing_distance_mm),
        parameters={
            "family_error": FAMILY_ERROR,
            "power": POWER,
            "weights": dict(wanted),
            "viewing_distance_mm": viewing_distance_mm,
            **camera_parameters(shots.values()),
        },
        version=program_version(),
    )


def _wanted(
    weights: Mapping[str, float] | None, criteria: Mapping[str, CriterionRanking]
) -> Mapping[str, float]:
    """Weights asked for; where all photographs show one's own picture, those for that."""
    wanted = checked_weights(weights)
    if weights is not None or any(criteria[name].places for name in wanted):
        return wanted
    sharp = [criteria[name] for name in PICTURE_WEIGHTS if name in criteria]
    in_mm = all(c.unit == PICTURE_CRITERIA[c.name].unit for c in sharp)
    return PICTURE_WEIGHTS if sharp and in_mm else wanted


def _visibility(
    measurements: Mapping[str, Sequence[Measurement]],
    criteria: Mapping[str, CriterionRanking],
    scales: Mapping[str, VisibleScale],
    viewing_distance_mm: float,
) -> tuple[PairVisibility, ...]:
    """Visibility of the leading setting against every other one, the last of the ranking first."""
    leader, *others = [p.setting for p in criteria[OVERALL.name].places] or list(measurements)
    found = []
    for other in reversed(others):
        both = {leader: measurements[leader], other: measurements[other]}
        differences = {
            name: pair
            for name, criterion in criteria.items()
            for pair in criterion.pairs
            if {pair.setting, pair.other} == set(both)
        }
        found.append(pair_visibility(both, differences, scales, viewing_distance_mm))
    return tuple(pair for pair in found if pair is not None)


def _cautions(shots: Mapping[str, Sequence[Measurement]]) -> list[Caution]:
    found = set_up_cautions(shots)
    for setting, measurements in shots.items():
        sent = sorted({m.sent_ppi for m in measurements if m.sent_ppi is not None})
        if len(sent) > 1:
            found.append(MixedSentPpi(setting, tuple(sent)))
    return found


def _distinguishable(
    criteria: Mapping[str, CriterionRanking], used: Iterable[str]
) -> dict[str, set[tuple[str, str]]]:
    """Criterion to the pairs that it distinguishes, the better setting first."""
    return {c: {(p.setting, p.other) for p in criteria[c].pairs if p.distinguishable} for c in used}
