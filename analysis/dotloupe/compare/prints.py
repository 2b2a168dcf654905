"""From captures or measurements to values of prints: the print is the replicate."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass, replace
from pathlib import PurePath
from typing import TYPE_CHECKING, Generic, TypeVar

import numpy as np

from dotloupe.compare.cautions import DuplicateCapture, MixedKinds, NoFitCapture, OfAnotherRun
from dotloupe.errors import InputError, NotFitError
from dotloupe.fitness import Finding, judge_together
from dotloupe.measurement import Measurement, PatchMeasurement, SourceFile, camera_state
from dotloupe.storage import plain

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from dotloupe.arrays import FloatArray
    from dotloupe.capture import Capture
    from dotloupe.cautions import Caution
    from dotloupe.fitness import Fitness


Key = TypeVar("Key", str, float)
"""A setting's name, or a sent ppi."""

MOST_NAMED = 3
"""Captures named in one message: the first faults are usually those of all."""


def photographs_of(measurements: Iterable[Measurement]) -> list[Measurement]:
    """Each photograph by itself, where several make one measurement."""
    return [shot for m in measurements for shot in m.photographs]


def capture_identity(measurement: Measurement) -> dict[str, object]:
    """Which photograph a measurement is of, ready for JSON."""
    identity: dict[str, object] = {
        "path": measurement.path,
        "sha256": measurement.sha256,
        "print": measurement.print_id,
        "run": measurement.run,
    }
    told = {
        name: value
        for name in ("fed_turned", "true_width_mm")
        if (value := getattr(measurement.parameters, name)) is not None
    }
    return identity | told


@dataclass(frozen=True)
class LeftOut:
    """A capture that was not fit to be measured, and why."""

    setting: str
    path: str
    reasons: tuple[Caution, ...]


class TooFewFitError(NotFitError):
    """Too few settings have a capture fit to be measured.

    Attributes
    ----------
    summary : str
        How many have one, how many are needed, and what to do.
    left_out : tuple of LeftOut
        The captures that were not, with their reasons as data.
    """

    def __init__(self, summary: str, left_out: tuple[LeftOut, ...]) -> None:
        self.summary, self.left_out = summary, left_out
        super().__init__(self.message(str))

    def message(self, words: Callable[[Caution], str]) -> str:
        """Return what is wrong, with the reasons of the first captures in these words."""
        named = (
            f"{left.path}: {', '.join(map(words, left.reasons))}"
            for left in self.left_out[:MOST_NAMED]
        )
        return "; ".join((self.summary, *named))


@dataclass(frozen=True)
class PrintValue:
    """One criterion of one print, the mean over its photographs.

    Attributes
    ----------
    print_id : str
        The print.
    value : float
        Mean over the photographs of this print, in the criterion's unit.
    standard_error : float
        What the photographs' own intervals leave open. Photographs of one print see the same dots,
        so more of them do not shrink it; where they differ by more than it, their spread counts.
        NaN where no photograph gave an interval.
    photographs : int
        How many photographs of this print were measured.
    least : float or None
        Where the upper end of a photograph's interval is open, what the print shows at least: the
        value is then no estimate. None otherwise.
    """

    print_id: str
    value: float
    standard_error: float
    photographs: int
    least: float | None = None


@dataclass(frozen=True)
class Sample:
    """One criterion of one setting, a value for each print."""

    setting: str
    prints: tuple[PrintValue, ...]

    @property
    def n(self) -> int:
        """Number of prints."""
        return len(self.prints)

    @property
    def values(self) -> FloatArray:
        """Value of each print."""
        return np.array([p.value for p in self.prints])

    @property
    def mean(self) -> float:
        """Mean over the prints."""
        return float(self.values.mean())

    @property
    def at_least(self) -> bool:
        """Whether the mean is a lower bound alone, as it is once a print's value is one."""
        return any(p.least is not None for p in self.prints)

    @property
    def least(self) -> float:
        """Mean over the prints of what each shows at least, or of its value."""
        return float(np.mean([p.value if p.least is None else p.least for p in self.prints]))

    @property
    def between_variance(self) -> float:
        """Variance between prints; NaN for one print."""
        return float(self.values.var(ddof=1)) if self.n > 1 else float("nan")

    @property
    def within_variance(self) -> float:
        """Variance of one print's value by the photographs' intervals; NaN where none is known."""
        errors = np.array([p.standard_error for p in self.prints])
        known = errors[~np.isnan(errors)]
        return float(np.mean(known**2)) if known.size else float("nan")


@dataclass(frozen=True)
class Gathered(Generic[Key]):
    """Fit measurements by setting, with what was left out and what a reader must know."""

    settings: Mapping[Key, tuple[Measurement, ...]]
    left_out: tuple[LeftOut, ...]
    cautions: tuple[Caution, ...]


def gather(
    settings: Mapping[Key, Iterable[Capture | Measurement]], *, at_least: int, noun: str
) -> Gathered[Key]:
    """Measure what is not measured yet, and keep what is fit.

    Parameters
    ----------
    settings : mapping
        Setting (or sent ppi) to captures or measurements.
    at_least : int
        Settings that must remain with a fit capture.
    noun : str
        What a key is, for messages: "setting" or "sent ppi".

    Raises
    ------
    InputError
        Fewer than `at_least` keys, or one photograph under two of them.
    NotFitError
        Fewer than `at_least` keys with a capture fit to be measured.
    """
    if len(settings) < at_least:
        count = "one" if len(settings) == 1 else str(len(settings))
        message = f"{count} {noun} given, at least {at_least} are needed: add captures of another"
        raise InputError(message)
    seen: dict[str, tuple[Key, str]] = {}
    kept: dict[Key, tuple[Measurement, ...]] = {}
    left_out: list[LeftOut] = []
    cautions: list[Caution] = []
    for setting, items in settings.items():
        fit: list[Measurement] = []
        for m in (as_measurement(item) for item in items):
            owner, first_path = seen.setdefault(m.identity or m.path, (setting, m.path))
            if owner != setting:
                message = (
                    f"{m.path}: the same photograph as {first_path}, given as {noun} {owner} "
                    f"and as {noun} {setting}: keep it in one of them"
                )
                raise InputError(message)
            if any(m.sha256 and m.identity == other.identity for other in fit):
                cautions.append(DuplicateCapture(m.path, first_path))
            elif reasons := m.reasons if not m.fit else _another_print(m, fit):
                left_out.append(LeftOut(str(setting), m.path, reasons))
            else:
                fit.append(m)
        if fit:
            kept[setting] = tuple(fit)
        else:
            cautions.append(NoFitCapture(noun, str(setting)))
    if len(kept) < at_least:
        raise TooFewFitError(
            f"{f'only {len(kept)}' if kept else 'no'} {noun} has a capture fit to be measured, "
            f"{at_least} are needed: correct the faults listed, or photograph the prints again",
            tuple(left_out),
        )
    cautions += [mixed for key, fit in kept.items() if (mixed := _mixed_kinds(str(key), fit))]
    return Gathered(_judged_together(kept), tuple(left_out), tuple(cautions))


def _mixed_kinds(setting: str, fit: Iterable[Measurement]) -> MixedKinds | None:
    patches = (m.registration.patch for m in fit if m.registration is not None)
    counts = Counter(patch.kind for patch in patches if patch is not None)
    return MixedKinds(setting, tuple(sorted(counts.items()))) if len(counts) > 1 else None


def _judged_together(
    settings: Mapping[Key, tuple[Measurement, ...]],
) -> dict[Key, tuple[Measurement, ...]]:
    """Measurements with what other photographs in their setting tell of each.

    Photographs of the same file tell of its focus, and those of parts of a print make one.

    One file printed in two settings may well be softer in one of them.
    """
    from dotloupe.evaluate import with_prints_of_parts

    return {
        setting: with_prints_of_parts(_judged_group(group)) for setting, group in settings.items()
    }


def _judged_group(group: tuple[Measurement, ...]) -> tuple[Measurement, ...]:
    fitness = [m.fitness if isinstance(m, PatchMeasurement) else None for m in group]
    judged = judge_together(fitness, [PurePath(m.path).name for m in group])
    return tuple(_with_fitness(m, found) for m, found in zip(group, judged, strict=True))


def _with_fitness(m: Measurement, fitness: Fitness | None) -> Measurement:
    if not isinstance(m, PatchMeasurement) or fitness is None or fitness is m.fitness:
        return m
    others = tuple(w for w in m.warnings if not isinstance(w, Finding))
    warnings = (*others, *fitness.warnings, *fitness.untold)
    return replace(m, fitness=fitness, warnings=warnings)


def _another_print(m: Measurement, fit: Iterable[Measurement]) -> tuple[Caution, ...]:
    """Why a photograph is not of the print whose name it bears, by the runs of their marks."""
    for other in fit:
        if other.print_id != m.print_id or m.run is None or other.run is None:
            continue
        if m.run != other.run:
            return (OfAnotherRun(m.run, other.path, other.run),)
    return ()


def as_measurement(item: Capture | Measurement) -> Measurement:
    """Return `item` if it is a measurement, and measure it if it is a capture."""
    if isinstance(item, Measurement):
        return item
    from dotloupe.evaluate import measure_capture

    return measure_capture(item)


def sample(
    setting: str | float, measurements: Iterable[Measurement], criterion: str
) -> Sample | None:
    """Values of one criterion, one a print; None where no capture holds the criterion."""
    photographs: dict[str, list[tuple[float, float]]] = defaultdict(list)
    least: dict[str, list[float]] = defaultdict(list)
    open_ended: set[str] = set()
    for m in measurements:
        number = m.numbers.get(criterion)
        if number is not None and np.isfinite(number.value):
            error = number.uncertainty
            known = float("nan") if error is None else error.standard_error
            photographs[m.print_id].append((number.value, known))
            least[m.print_id].append(number.low if number.at_least else number.value)
            if number.at_least:
                open_ended.add(m.print_id)
    if not photographs:
        return None
    prints = (
        replace(
            print_value(print_id, shots),
            least=float(np.mean(least[print_id])) if print_id in open_ended else None,
        )
        for print_id, shots in photographs.items()
    )
    return Sample(str(setting), tuple(prints))


def print_value(print_id: str, shots: list[tuple[float, float]]) -> PrintValue:
    """Mean of (value, standard error) over the photographs of one print."""
    values, errors = np.array(shots, dtype=float).T
    known = errors[~np.isnan(errors)]
    squared = float(np.mean(known**2)) if known.size else float("nan")
    if len(values) > 1:
        squared = float(np.fmax(squared, values.var(ddof=1) / len(values)))
    return PrintValue(print_id, float(values.mean()), float(np.sqrt(squared)), len(values))


def camera_parameters(shots: Iterable[Iterable[Measurement]]) -> dict[str, object]:
    """Whether the camera is in edges and grain, and by which files captures were corrected."""
    every = [m for group in shots for m in group]
    files: dict[str, list[SourceFile | None]] = {
        "reference_edge": [m.parameters.camera_file for m in every],
        "camera_by_scale": [f for m in every for f in m.parameters.camera_by_scale or ()],
        "blank_paper": [m.parameters.blank_file for m in every],
        "two_exposures": [m.parameters.exposures_file for m in every],
    }
    state = camera_state(every, "detail_x")
    found: dict[str, object] = {"camera": None if state is None else state.value}
    for name, given in files.items():
        once = {file.sha256: plain(file) for file in given if file is not None}
        found |= {name: list(once.values())} if once else {}
    return found
