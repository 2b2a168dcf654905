"""Whether photographs of one comparison share their set-up, and prints their settings."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from dotloupe.capture import SetUp, SetUpPart
from dotloupe.cautions import Caution
from dotloupe.compare.cautions import DifferentSetUps, SamePrintTwice
from dotloupe.fitness import Symptom
from dotloupe.measurement import Measurement, PatchMeasurement

SAMPLING_WITHIN = 1.1
"""Times that sampling may differ: the pixel takes a few thousandths of MTF50 more or less."""
TONE_WITHIN = 1.05
"""Times that the middle tone may differ: roundings of one curve by different programs."""


def set_up_cautions(shots: Mapping[Any, Sequence[Measurement]]) -> list[Caution]:
    """Cautions on photographs of several set-ups, and on one print under two settings.

    Parameters
    ----------
    shots : mapping of setting to sequence of Measurement
    """
    found: list[Caution] = []
    fit = [m for group in shots.values() for m in group if m.fit]
    known = [m.set_up for m in fit if m.set_up is not None]
    parts = differing_parts(known)
    if parts:
        sampling = [s.pixels_per_mm for s in known]
        found.append(
            DifferentSetUps(
                parts=parts,
                cameras=tuple(sorted({s.camera for s in known if s.camera})),
                pixels_per_mm=(min(sampling), max(sampling)),
                file_kinds=tuple(sorted({s.file_kind for s in known})),
                most_lost_percent=_most_lost(fit),
            )
        )
    seen: dict[tuple[int, float], list[str]] = {}
    for setting, group in shots.items():
        for run, ppi in {(m.run, m.sent_ppi) for m in group}:
            if run is not None and ppi is not None:
                seen.setdefault((run, ppi), []).append(str(setting))
    found += [
        SamePrintTwice(run, tuple(settings)) for (run, _), settings in seen.items() if settings[1:]
    ]
    return found


def differing_parts(set_ups: Sequence[SetUp]) -> tuple[SetUpPart, ...]:
    """What set-ups do not share; a camera that a file does not name counts as any."""
    if not set_ups:
        return ()
    sampling = [s.pixels_per_mm for s in set_ups]
    tones = [max(s.mid_tone, 1e-6) for s in set_ups]
    differ = {
        SetUpPart.CAMERA: len({s.camera for s in set_ups if s.camera}) > 1,
        SetUpPart.SAMPLING: max(sampling) > SAMPLING_WITHIN * min(sampling),
        SetUpPart.FILE_KIND: len({s.file_kind for s in set_ups}) > 1,
        SetUpPart.TONE: max(tones) > TONE_WITHIN * min(tones),
    }
    return tuple(part for part, differs in differ.items() if differs)


def _most_lost(measurements: Iterable[Measurement]) -> float | None:
    """Loss of MTF50 in % that a camera may have made of any of them; None where not bounded."""
    bounds = [
        check.value
        for m in measurements
        if isinstance(m, PatchMeasurement) and m.fitness is not None
        for check in m.fitness.checks
        if check.limits.symptom is Symptom.POSSIBLE_LOSS
    ]
    return max(bounds, default=None)
