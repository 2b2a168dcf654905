"""What a reader of an edge's numbers must know."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from dotloupe.cautions import Caution

Runs: TypeAlias = Literal["vertical", "horizontal"]
"""The direction a line or an edge runs in; a vertical one shows modulation along x."""


@dataclass(frozen=True)
class CameraReference(Caution):
    """The edge is a reference edge: the response is the camera's, not a print's."""


@dataclass(frozen=True)
class MtfEndsEarly(Caution):
    """The camera passes too little, or is not known, above `frequency` in cycles/mm."""

    frequency: float
    least_transfer: float


@dataclass(frozen=True)
class TailContinued(Caution):
    """A tail that falls as the inverse square is continued beyond the region."""


@dataclass(frozen=True)
class ReferenceRunsOtherwise(Caution):
    """The camera's reference edge and this edge run in different directions."""

    reference: str
    edge: str


@dataclass(frozen=True)
class CrossingNotMeasured(Caution):
    """The MTF stays above `level` up to the highest frequency measured."""

    level: float


@dataclass(frozen=True)
class EdgeOvershoots(Caution):
    """The edge spread passes its plateaus by `share` of the step."""

    share: float


@dataclass(frozen=True)
class BlurReachesEnds(Caution):
    """The blur reaches the ends of the region, so the MTF reads high."""


@dataclass(frozen=True)
class LightFarFromEdge(Caution):
    """A `share` of the step lies far from the edge."""

    share: float


@dataclass(frozen=True)
class EdgesDisagree(Caution):
    """No majority of the edges agrees; `mtf50` of each, in cycles/mm."""

    mtf50: tuple[float, ...]


@dataclass(frozen=True)
class EdgesSetApart(Caution):
    """Edges that are not in the mean: their numbers, counted from 1, and their MTF50."""

    numbers: tuple[int, ...]
    mtf50: tuple[float, ...]
