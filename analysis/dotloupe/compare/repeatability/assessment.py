"""How well a printer and a set-up repeat, number by number, and what that lets one find."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import isnan
from typing import Any

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.cautions import Caution
from dotloupe.compare.pairs import MOST_PRINTS
from dotloupe.compare.power import smallest_difference
from dotloupe.compare.prints import LeftOut, gather
from dotloupe.compare.repeatability.nested import NestedVariances, nested_variances
from dotloupe.errors import InputError
from dotloupe.measurement import Measurement
from dotloupe.number import CRITERIA, Measurand, Quantity
from dotloupe.storage import plain, program_version

PRINT_COUNTS = (2, 3, 4, 5, 8)
"""Prints a setting for which the smallest difference is given."""
PERCENTS = (2, 5, 10)
"""Differences for which the number of prints is given."""
EVEN = 0.4
"""Where each of the two makes at least this share of the variance, neither comes first."""


class Improve(StrEnum):
    """What to improve first."""

    CAMERA = "camera"
    PRINTER = "printer"
    EITHER = "either"


@dataclass(frozen=True)
class NumberRepeatability:
    """How well one number repeats.

    Attributes
    ----------
    name, title, unit : str
    signed : bool
        Lies on either side of zero, so that it has no per cent.
    variances : NestedVariances
    smallest_difference : mapping of int to float
        By prints a setting, each photographed once: the true difference of two settings that is
        found in 80 of 100 tests.
    prints_needed : mapping of int to (int or None)
        By a difference in per cent: prints a setting that find it in 80 of 100 tests; None where
        more than 200 would be needed, or the number has no scale of its own.
    improve : Improve or None
        None where prints were not repeated.
    """

    name: str
    title: str
    unit: str
    signed: bool
    variances: NestedVariances
    smallest_difference: Mapping[int, float]
    prints_needed: Mapping[int, int | None]
    improve: Improve | None


@dataclass(frozen=True)
class Repeatability:
    """How well a printer and a set-up repeat.

    Attributes
    ----------
    numbers : mapping of str to NumberRepeatability
        Criteria first.
    improve : Improve or None
        What to improve first, by most of the criteria.
    prints, photographs : int
        How many were measured.
    measurements : mapping of str to tuple of Measurement
        By setting.
    left_out : tuple of LeftOut
    cautions : tuple of Caution
    version : str
        Of the program.
    """

    numbers: Mapping[str, NumberRepeatability]
    improve: Improve | None
    prints: int
    photographs: int
    measurements: Mapping[str, tuple[Measurement, ...]]
    left_out: tuple[LeftOut, ...]
    cautions: tuple[Caution, ...]
    version: str

    def to_dict(self, words: Callable[[Caution], str] = str) -> dict[str, object]:
        """Everything but the measurements, ready for JSON.

        Parameters
        ----------
        words : callable
            What is written of a caution; its name by default.
        """
        found = {
            "numbers": {name: _number(n) for name, n in self.numbers.items()},
            "improve": self.improve,
            "prints": self.prints,
            "photographs": self.photographs,
            "left_out": self.left_out,
            "cautions": self.cautions,
            "version": self.version,
        }
        return dict(plain(found, words))


def _number(number: NumberRepeatability) -> dict[str, object]:
    shot, own = number.variances.photograph, number.variances.between
    known = own.degrees > 0
    return {
        "title": number.title,
        "unit": number.unit,
        "mean": number.variances.mean,
        "set_up": shot.sd,
        "set_up_interval": shot.sd_interval,
        "print": own.sd if known else None,
        "print_interval": own.sd_interval if known else None,
        "degrees": {"set_up": shot.degrees, "print": own.degrees},
        "smallest_difference": number.smallest_difference,
        "prints_needed": number.prints_needed,
        "improve": number.improve,
    }


def repeatability(settings: Mapping[str, Iterable[Any]]) -> Repeatability:
    """Separate what the set-up adds from what the printer adds.

    Parameters
    ----------
    settings : mapping of str to iterable of Capture or Measurement
        Setting to the photographs of its prints. Photographs that share a `print_id` show one
        print, taken anew each time, the sheet laid anew.

    Raises
    ------
    InputError
        No print was photographed twice.
    NotFitError
        No capture is fit to be measured.
    """
    gathered = gather(settings, at_least=1, noun="setting")
    shots = {str(s): m for s, m in gathered.settings.items()}
    numbers = _numbers(shots)
    if not numbers:
        raise InputError(
            "no print was photographed twice: lay each print again and photograph it again, as "
            "print1_shot1 and print1_shot2"
        )
    by_print = {(s, m.print_id) for s, group in shots.items() for m in group}
    return Repeatability(
        numbers=numbers,
        improve=_first(numbers),
        prints=len(by_print),
        photographs=sum(map(len, shots.values())),
        measurements=shots,
        left_out=gathered.left_out,
        cautions=gathered.cautions,
        version=program_version(),
    )


def _numbers(shots: Mapping[str, Sequence[Measurement]]) -> dict[str, NumberRepeatability]:
    known: dict[str, tuple[Measurand | None, str]] = {}
    for m in (m for group in shots.values() for m in group):
        for name, n in m.numbers.items():
            known.setdefault(name, (n.measurand, n.unit))
    found = {}
    for name in sorted(known, key=lambda n: (n not in CRITERIA, n)):
        variances = nested_variances([_by_print(group, name) for group in shots.values()])
        if variances is not None:
            measurand, unit = known[name]
            title = measurand.title if measurand else name
            signed = measurand is not None and measurand.quantity is Quantity.OFFSET
            found[name] = number_repeatability(name, title, unit, variances, signed=signed)
    return found


def _by_print(shots: Iterable[Measurement], name: str) -> list[FloatArray]:
    """Values of the photographs of each print."""
    prints: dict[str, list[float]] = {}
    for m in shots:
        if name in m.numbers and np.isfinite(m.numbers[name].value):
            prints.setdefault(m.print_id, []).append(m.numbers[name].value)
    return [np.array(values) for values in prints.values()]


def number_repeatability(
    name: str, title: str, unit: str, variances: NestedVariances, *, signed: bool = False
) -> NumberRepeatability:
    """Return what the variances of a number let one find."""
    shot, own = variances.photograph.variance, variances.between.variance
    improve, smallest = None, dict[int, float]()
    needed: dict[int, int | None] = dict.fromkeys(PERCENTS)
    if not isnan(own):
        variance = variances.of_print()
        smallest = {n: smallest_difference(variance, n) for n in PRINT_COUNTS}
        scale = 0.0 if signed else abs(variances.mean)
        needed = {p: prints_needed(variance, scale * p / 100) for p in PERCENTS}
        share = shot / variance if variance > 0 else 0.5
        improve = Improve.CAMERA if share > 1 - EVEN else Improve.PRINTER
        improve = Improve.EITHER if EVEN <= share <= 1 - EVEN else improve
    return NumberRepeatability(name, title, unit, signed, variances, smallest, needed, improve)


def prints_needed(variance: float, difference: float) -> int | None:
    """Prints of each setting that find a difference in 80 of 100 tests; None for more than 200."""
    fewest, most = 2, MOST_PRINTS
    if not difference > 0 or smallest_difference(variance, most) > difference:
        return None
    while fewest < most:
        middle = (fewest + most) // 2
        if smallest_difference(variance, middle) <= difference:
            most = middle
        else:
            fewest = middle + 1
    return most


def _first(numbers: Mapping[str, NumberRepeatability]) -> Improve | None:
    """What most of the criteria ask for, or most of all numbers where there is no criterion."""
    criteria = [n.improve for name, n in numbers.items() if name in CRITERIA]
    found = [i for i in criteria or [n.improve for n in numbers.values()] if i is not None]
    if not found:
        return None
    camera, printer = found.count(Improve.CAMERA), found.count(Improve.PRINTER)
    if camera == printer:
        return Improve.EITHER
    return Improve.CAMERA if camera > printer else Improve.PRINTER
