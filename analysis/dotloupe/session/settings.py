"""Settings from folders: their captures, their measurements and the ppi that each was sent at."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from dotloupe.errors import InputError, NotFitError
from dotloupe.measurement import Measurement, PictureMeasurement
from dotloupe.session.measuring import measure_paths
from dotloupe.session.options import DEFAULT_OPTIONS, RunOptions
from dotloupe.storage import as_text


def setting_paths(folders: Iterable[str | Path], *, at_least: int = 2) -> dict[str, list[Path]]:
    """Captures of each folder, by the folder's name, which is the setting's.

    Raises
    ------
    InputError
        One folder alone, a folder that is missing or empty, or two of one name.
    """
    from dotloupe.capture import capture_paths

    places = [Path(folder) for folder in folders]
    if len(places) < at_least:
        raise InputError(f"{places[0]}: only one setting; add a folder of another to compare")
    settings: dict[str, list[Path]] = {}
    for folder in places:
        name = as_text(folder.resolve().name)
        if name in settings:
            if [place.resolve() for place in places].count(folder.resolve()) > 1:
                raise InputError(f"{folder}: given twice; compare it with another folder")
            raise InputError(
                f"{folder}: another folder is named {name!r} too, and a folder's name is its "
                "setting's; rename one"
            )
        settings[name] = capture_paths(folder)
    return settings


def measure_settings(
    settings: Mapping[str, Sequence[Path]], options: RunOptions = DEFAULT_OPTIONS
) -> dict[str, tuple[Measurement, ...]]:
    """Measure every capture of every setting; a fault in one costs no other.

    Parameters
    ----------
    settings : mapping of str to sequence of Path
    options : RunOptions
    """
    setting = {str(path): name for name, group in settings.items() for path in group}
    found: dict[str, list[Measurement]] = {name: [] for name in settings}
    for m in measure_paths([path for group in settings.values() for path in group], options):
        found[setting[m.path]].append(m)
    return {name: with_code_of_print(group) for name, group in found.items()}


def with_code_of_print(group: Sequence[Measurement]) -> tuple[Measurement, ...]:
    """Photographs of parts that do not show the code, at the ppi that another of the print reads.

    Parameters
    ----------
    group : sequence of Measurement
        Of one setting.
    """
    read = {(m.print_id, m.run): m.sent_ppi for m in group if m.sent_ppi is not None}
    return tuple(
        replace(m, sent_ppi=read.get((m.print_id, m.run))) if _is_part(m) else m for m in group
    )


def _is_part(m: Measurement) -> bool:
    shown = None if m.registration is None else m.registration.sight_mm
    return shown is not None and m.sent_ppi is None


def with_named_ppi(
    settings: Mapping[str, Sequence[Measurement]],
) -> dict[str, tuple[Measurement, ...]]:
    """Photographs of one's own picture carry no code: their folder's name says the sent ppi.

    Raises
    ------
    InputError
        A folder's name holds no number, or more than one.
    """
    named: dict[str, tuple[Measurement, ...]] = {}
    for name, group in settings.items():
        silent = [m.sent_ppi is None and isinstance(m, PictureMeasurement) for m in group]
        ppi = named_ppi(name)
        if any(silent) and ppi is None:
            raise InputError(
                f"{name}: photographs of a picture do not say how it was sent; name their folder "
                "after the ppi, as ppi360, or give a session file"
            )
        named[name] = tuple(
            replace(m, sent_ppi=ppi) if unsaid else m
            for m, unsaid in zip(group, silent, strict=True)
        )
    return named


def named_ppi(name: str) -> float | None:
    """Sent ppi that a setting's name says; None where it holds no number, or more than one."""
    numbers = re.findall(r"\d+", name)
    return float(numbers[0]) if len(numbers) == 1 else None


def by_sent_ppi(measurements: Iterable[Measurement]) -> dict[float, list[Measurement]]:
    """Fit measurements by the sent ppi that their patches' codes, or their plan, name.

    Raises
    ------
    InputError
        A capture's code could not be read.
    """
    measurements = list(measurements)
    if not any(m.fit for m in measurements):
        raise NotFitError("no capture was fit to be measured; dotloupe check says what to correct")
    rungs: dict[float, list[Measurement]] = {}
    for m in measurements:
        if m.fit and m.sent_ppi is None:
            raise InputError(
                f"{m.path}: its code cannot be read, so the sent ppi is unknown; photograph it "
                "sharper, leave it out or name its ppi in a session file"
            )
        if m.fit and m.sent_ppi is not None:
            rungs.setdefault(m.sent_ppi, []).append(m)
    return dict(sorted(rungs.items()))
