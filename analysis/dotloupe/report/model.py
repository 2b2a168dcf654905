"""The report model: what page, tables, plots and crops are made from, of whatever result."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

from dotloupe.compare import added_structure
from dotloupe.compare.effects import Effects
from dotloupe.compare.history import HeadVerdict, Trend
from dotloupe.compare.ladder import Ladder
from dotloupe.compare.ranking import Ranking
from dotloupe.compare.repeatability import Repeatability
from dotloupe.compare.visibility import difference_places
from dotloupe.errors import InputError
from dotloupe.measurement import CameraState, Measurement, PatchMeasurement, camera_state
from dotloupe.units import VIEWING_DISTANCE_MM

if TYPE_CHECKING:
    from dotloupe.cautions import Caution
    from dotloupe.compare import AddedStructure, LeftOut, Scope
    from dotloupe.compare.visibility import DifferencePlace

Result: TypeAlias = Ranking | Ladder | Trend | HeadVerdict | Effects | Repeatability


@dataclass(frozen=True)
class Setting:
    """One setting of a ranking, or one sent ppi of a ladder.

    Attributes
    ----------
    index : int
        Position in the order given, from 0; colours and marks follow it.
    name : str
        As given.
    measurements : tuple of Measurement
    """

    index: int
    name: str
    measurements: tuple[Measurement, ...]

    def prints(self) -> dict[str, list[Measurement]]:
        """Photographs of each print, by print."""
        found: dict[str, list[Measurement]] = {}
        for m in self.measurements:
            found.setdefault(m.print_id, []).append(m)
        return found


@dataclass(frozen=True)
class ReportModel:
    """What every report has.

    Attributes
    ----------
    settings : tuple of Setting
        In the order given; none of a history.
    viewing_distance_mm : float or None
        Distance from which the prints are judged; None where nothing says.
    cautions : tuple of Caution
    left_out : tuple of LeftOut
        Captures that are in no number, and why.
    version : str
        Of the program that measured.
    """

    settings: tuple[Setting, ...]
    viewing_distance_mm: float | None
    cautions: tuple[Caution, ...]
    left_out: tuple[LeftOut, ...]
    version: str

    @property
    def looked_at_from_mm(self) -> float:
        """Viewing distance in mm, or the default."""
        return self.viewing_distance_mm or VIEWING_DISTANCE_MM

    @property
    def scope(self) -> Scope:
        """Whether the numbers speak of settings or of single prints."""
        return "settings"

    @property
    def added_structure(self) -> tuple[AddedStructure, ...]:
        """Settings whose prints show more that is not in the picture than others' grain."""
        return added_structure({s.name: s.measurements for s in self.settings})

    @property
    def difference_places(self) -> tuple[DifferencePlace, ...]:
        """Where in a framed picture the settings differ most to the eye, the greatest first."""
        shots = {s.name: s.measurements for s in self.settings}
        return difference_places(shots, self.looked_at_from_mm)

    def camera(self, number: str) -> CameraState | None:
        """Whether the camera's own softness is in a number."""
        return camera_state((m for s in self.settings for m in s.measurements), number)


@dataclass(frozen=True)
class RankingModel(ReportModel):
    """Settings against each other."""

    ranking: Ranking

    @property
    def scope(self) -> Scope:
        """Whether the numbers speak of settings or of single prints."""
        return self.ranking.scope


@dataclass(frozen=True)
class LadderModel(ReportModel):
    """Detail against the ppi sent."""

    ladder: Ladder


@dataclass(frozen=True)
class EffectsModel(ReportModel):
    """Crossed factors: what each choice does."""

    effects: Effects


@dataclass(frozen=True)
class HistoryModel(ReportModel):
    """Numbers of a printer over time.

    Attributes
    ----------
    trends : tuple of Trend
        One, or all that tell of the head, the worst first.
    head : HeadVerdict or None
        The verdict over all of them; None of one number by itself.
    """

    trends: tuple[Trend, ...]
    head: HeadVerdict | None = None


@dataclass(frozen=True)
class RepeatModel(ReportModel):
    """How well printer and set-up repeat."""

    repeatability: Repeatability


def ranking_model(ranking: Ranking) -> RankingModel:
    """Return what a report of a ranking is made from."""
    settings = _settings(ranking.measurements)
    return RankingModel(
        settings=settings,
        viewing_distance_mm=ranking.viewing_distance_mm,
        cautions=ranking.cautions,
        left_out=ranking.left_out,
        version=ranking.version,
        ranking=ranking,
    )


def ladder_model(ladder: Ladder) -> LadderModel:
    """Return what a report of a ladder is made from, a setting for each sent ppi."""
    settings = _settings({f"{ppi:g} ppi": shots for ppi, shots in ladder.measurements.items()})
    return LadderModel(
        settings=settings,
        viewing_distance_mm=ladder.viewing_distance_mm or _looked_at_from_mm(settings),
        cautions=ladder.cautions,
        left_out=ladder.left_out,
        version=ladder.version,
        ladder=ladder,
    )


def effects_model(effects: Effects) -> EffectsModel:
    """Return what a report of crossed factors is made from."""
    settings = _settings(effects.measurements)
    return EffectsModel(
        settings=settings,
        viewing_distance_mm=effects.viewing_distance_mm or _looked_at_from_mm(settings),
        cautions=effects.cautions,
        left_out=effects.left_out,
        version=effects.version,
        effects=effects,
    )


def history_model(result: Trend | HeadVerdict) -> HistoryModel:
    """Return what a report of a printer over time is made from."""
    head = result if isinstance(result, HeadVerdict) else None
    return HistoryModel(
        settings=(),
        viewing_distance_mm=None,
        cautions=result.cautions,
        left_out=(),
        version=result.version,
        trends=(result,) if isinstance(result, Trend) else tuple(result.numbers.values()),
        head=head,
    )


def repeat_model(result: Repeatability) -> RepeatModel:
    """Return what a report of a repeatability is made from."""
    settings = _settings(result.measurements)
    return RepeatModel(
        settings=settings,
        viewing_distance_mm=_looked_at_from_mm(settings),
        cautions=result.cautions,
        left_out=result.left_out,
        version=result.version,
        repeatability=result,
    )


def report_model(
    result: Result,
) -> RankingModel | LadderModel | HistoryModel | EffectsModel | RepeatModel:
    """Return what a report of a result is made from.

    Raises
    ------
    InputError
        It is no ranking, ladder or history, and no effects.
    """
    match result:
        case Ranking():
            return ranking_model(result)
        case Ladder():
            return ladder_model(result)
        case Trend() | HeadVerdict():
            return history_model(result)
        case Effects():
            return effects_model(result)
        case Repeatability():
            return repeat_model(result)
    raise InputError(
        f"a {type(result).__name__} cannot be drawn: give a ranking, a ladder, a history or effects"
    )


def sources_of(m: Measurement, number: str) -> tuple[str, ...]:
    """Paths of the photographs that a number of a measurement came from."""
    own = (m.path,)
    return m.sources.get(number, own) if isinstance(m, PatchMeasurement) else own


def _settings(measurements: Mapping[str, tuple[Measurement, ...]]) -> tuple[Setting, ...]:
    return tuple(Setting(i, name, shots) for i, (name, shots) in enumerate(measurements.items()))


def _looked_at_from_mm(settings: tuple[Setting, ...]) -> float | None:
    """Viewing distance for which the grain of the prints was measured."""
    grains = (
        float(m.grain.viewing_distance_mm)
        for s in settings
        for m in s.measurements
        if m.grain is not None
    )
    return next(grains, None)
