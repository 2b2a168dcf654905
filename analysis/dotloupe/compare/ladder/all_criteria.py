"""Detail against the resolution of the file sent: how much is enough, and is any value special."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.compare.cautions import OtherPpiInCode
from dotloupe.compare.ladder.criterion_ladder import CriterionLadder, criterion_ladder
from dotloupe.compare.pairs import FAMILY_ERROR
from dotloupe.compare.prints import (
    LeftOut,
    camera_parameters,
    capture_identity,
    gather,
    photographs_of,
)
from dotloupe.compare.set_ups import set_up_cautions
from dotloupe.errors import InputError, NotFitError
from dotloupe.measurement import criteria_of
from dotloupe.number import CONTRAST_CRITERIA, CRITERIA, PICTURE_CRITERIA
from dotloupe.storage import plain, program_version

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from dotloupe.arrays import FloatArray
    from dotloupe.capture import Capture
    from dotloupe.cautions import Caution
    from dotloupe.measurement import Measurement

ENOUGH_SHARE = 0.95
USUAL_CRITERIA = ("detail_x", "picture_kept_x", "faint_detail_middle_x")


@dataclass(frozen=True)
class Ladder:
    """Detail against the sent ppi, on one criterion, with all others beside it.

    Attributes
    ----------
    criterion : str
        The criterion of `sent_ppi`, `detail`, `interval`, `enough_ppi` and `outstanding`.
    criteria : mapping of str to CriterionLadder
        Every criterion, both directions side by side.
    share : float
        Share of the plateau that counts as enough.
    measurements : mapping of float to tuple of Measurement
        The fit measurements of each sent ppi.
    cautions : tuple of Caution
        Of the leading criterion, then those that hold for the whole ladder.
    left_out, parameters, version
        As in `Ranking`.
    viewing_distance_mm : float or None
        For which the prints were measured, where it is known.
    """

    criterion: str
    criteria: Mapping[str, CriterionLadder]
    share: float
    measurements: Mapping[float, tuple[Measurement, ...]]
    left_out: tuple[LeftOut, ...]
    cautions: tuple[Caution, ...]
    parameters: Mapping[str, object]
    version: str
    viewing_distance_mm: float | None = None

    @property
    def leading(self) -> CriterionLadder:
        """The criterion that the ladder is about."""
        return self.criteria[self.criterion]

    @property
    def sent_ppi(self) -> FloatArray:
        """Sent ppi, rising."""
        return np.array([r.sent_ppi for r in self.leading.rungs])

    @property
    def detail(self) -> FloatArray:
        """Detail at each sent ppi."""
        return np.array([r.value for r in self.leading.rungs])

    @property
    def interval(self) -> FloatArray:
        """95 % interval of each detail, shape (n, 2)."""
        return np.array([(r.low, r.high) for r in self.leading.rungs])

    @property
    def enough_ppi(self) -> float | None:
        """Least sent ppi within the share of the plateau; None where none reaches it."""
        return self.leading.rise.enough_ppi if self.leading.rise else None

    @property
    def needed_ppi(self) -> dict[str, float | None]:
        """What is enough for each criterion that rises; None for one that no ppi sent is enough."""
        return {name: c.rise.enough_ppi for name, c in self.criteria.items() if c.rise}

    @property
    def enough_for_all_ppi(self) -> float | None:
        """Least sent ppi within the share of the plateau of every criterion that rises.

        None where one of them reaches it nowhere, or where too few ppi were sent to tell.
        """
        needed = [ppi for ppi in self.needed_ppi.values() if ppi is not None]
        settled = needed and len(needed) == len(self.needed_ppi)
        return max(needed) if settled else None

    @property
    def outstanding(self) -> tuple[float, ...]:
        """Sent ppi that stand out from their neighbours' trend."""
        return tuple(d.sent_ppi for d in self.leading.departures if d.outstanding)

    def to_dict(self, words: Callable[[Caution], str] = str) -> dict[str, object]:
        """Everything but the curves of the captures, ready for JSON.

        Parameters
        ----------
        words : callable
            What is written of a caution; its name by default.
        """
        captures = {
            f"{ppi:g}": [capture_identity(m) for m in photographs_of(shots)]
            for ppi, shots in self.measurements.items()
        }
        return {
            "criterion": self.criterion,
            "points": plain(self.leading.rungs),
            "enough_ppi": self.enough_ppi,
            "enough_for_all_ppi": self.enough_for_all_ppi,
            "outstanding": plain(self.outstanding),
            "camera_ceiling": plain(self.leading.ceiling),
            "share": self.share,
            "criteria": {name: c.to_dict(words) for name, c in self.criteria.items()},
            "captures": plain(captures),
            "left_out": plain(self.left_out, words),
            "cautions": plain(self.cautions, words),
            "parameters": plain(self.parameters),
            "version": self.version,
        }


def ladder(
    rungs: Mapping[float, Iterable[Capture | Measurement]],
    *,
    criterion: str | None = None,
    share: float = ENOUGH_SHARE,
) -> Ladder:
    """Detail against the resolution of the file sent.

    Parameters
    ----------
    rungs : mapping of float to iterable of Capture or Measurement
        Sent ppi to the photographs of its prints.
    criterion : str, optional
        The criterion that `enough_ppi` and `outstanding` speak of: detail along x, or, of
        photographs of one's own picture, its detail kept along x.
    share : float
        Share of the plateau that counts as enough, between 0.5 and 1.

    Returns
    -------
    Ladder

    Raises
    ------
    InputError
        Fewer than two sent ppi, an impossible ppi, criterion or share.
    NotFitError
        Fewer than two sent ppi with a capture fit to be measured.

    Notes
    -----
    The spread of prints is taken to be the same share of the detail at every ppi, as one printer
    in one mode gives it, and pooled over the ladder; with one print a ppi the photographs' own
    intervals take its place.
    """
    names = [*CRITERIA, *CONTRAST_CRITERIA, *PICTURE_CRITERIA]
    if criterion is not None and criterion not in names:
        raise InputError(f"criterion {criterion}: unknown, use one of {', '.join(names)}")
    if not 0.5 <= share < 1:
        raise InputError(f"share {share}: give one from 0.5 to below 1")
    gathered = gather(_by_ppi(rungs), at_least=2, noun="sent ppi")
    shots = dict(sorted(gathered.settings.items()))
    criteria = {
        name: found
        for name, c in criteria_of(m for group in shots.values() for m in group).items()
        if (found := criterion_ladder(c, shots, share)) is not None
    }
    if criterion is None:
        criterion = next((name for name in USUAL_CRITERIA if name in criteria), USUAL_CRITERIA[0])
    if criterion not in criteria:
        raise NotFitError(f"fewer than two sent ppi hold a value of {criterion}: measure again")
    return Ladder(
        criterion=criterion,
        criteria=criteria,
        share=share,
        measurements=shots,
        left_out=gathered.left_out,
        cautions=(*criteria[criterion].cautions, *gathered.cautions, *_cautions(shots)),
        parameters={
            "criterion": criterion,
            "share": share,
            "family_error": FAMILY_ERROR,
            **camera_parameters(shots.values()),
        },
        version=program_version(),
    )


def _by_ppi(
    rungs: Mapping[float, Iterable[Capture | Measurement]],
) -> dict[float, Iterable[Capture | Measurement]]:
    by_ppi: dict[float, Iterable[Capture | Measurement]] = {}
    for key, items in rungs.items():
        try:
            ppi = float(key)
        except (TypeError, ValueError):
            ppi = float("nan")
        if not (np.isfinite(ppi) and ppi > 0):
            raise InputError(f"sent ppi {key!r}: give the pixels per inch of the file, above 0")
        if ppi in by_ppi:
            raise InputError(f"sent ppi {ppi:g} is given twice: put its captures together")
        by_ppi[ppi] = items
    return by_ppi


def _cautions(shots: Mapping[float, Sequence[Measurement]]) -> list[Caution]:
    return set_up_cautions(shots) + [
        OtherPpiInCode(m.path, m.sent_ppi, ppi)
        for ppi, measurements in shots.items()
        for m in measurements
        if m.sent_ppi is not None and abs(m.sent_ppi - ppi) > 0.5
    ]
