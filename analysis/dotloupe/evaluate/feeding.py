"""Results of a patch that was fed turned by 90 degrees: x and y follow the printer."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, TypeVar

from dotloupe.cautions import Caution
from dotloupe.evaluate.cautions import FedTurned
from dotloupe.fitness import Finding, Stretched
from dotloupe.measure.grain import Grain
from dotloupe.measure.texture import Transfer
from dotloupe.measurement import Measurement, PatchMeasurement, PictureMeasurement
from dotloupe.number import Measurand, Number, Quantity
from dotloupe.patch import Axis, Patch

ACROSS: dict[Any, Axis] = {"x": "y", "y": "x"}
Value = TypeVar("Value")


def fed_turned(measurement: Measurement) -> Measurement:
    """Exchange x and y of all that was measured on a patch, or a picture, that was fed turned.

    Where it lies in the photograph stays as it is, and so do the names of its regions.

    Parameters
    ----------
    measurement : Measurement
        With x and y of the patch.

    Returns
    -------
    Measurement
        With x along the head's travel and y along the paper feed.
    """
    if measurement.parameters.fed_turned:
        return measurement
    m, patch = measurement, None
    registration = m.registration
    if registration is not None and registration.patch is not None:
        patch = replace(registration.patch, turned=True)
        registration = replace(registration, patch=patch)
    exchanged = {} if patch is None else _exchanged_names(patch)
    turned = replace(
        m,
        warnings=(*map(_warning, m.warnings), FedTurned()),
        numbers=_numbers(m.numbers),
        parameters=replace(m.parameters, fed_turned=True),
        response=_along_the_other(m.response),
        registration=registration,
        faults={exchanged.get(name, name): fault for name, fault in m.faults.items()},
        directions={exchanged.get(name, name): edges for name, edges in m.directions.items()},
        tints={name: _grain(grain) for name, grain in m.tints.items()},
    )
    if isinstance(turned, PatchMeasurement):
        return replace(
            turned,
            bars=_along_the_other(turned.bars),
            limits=_along_the_other(turned.limits),
            texture=None if turned.texture is None else _transfer(turned.texture),
            placement=_along_the_other(turned.placement),
            contrast=tuple(replace(c, axis=ACROSS[c.axis]) for c in turned.contrast),
        )
    if isinstance(turned, PictureMeasurement) and turned.own_picture is not None:
        picture = turned.own_picture
        return replace(turned, own_picture=replace(picture, transfer=_transfer(picture.transfer)))
    return turned


def _numbers(numbers: Mapping[str, Number]) -> dict[str, Number]:
    """Each under its new name, in the order of before."""
    found = {}
    for name, number in numbers.items():
        measurand = number.measurand
        if measurand is None or measurand.axis is None:
            found[name] = number
            continue
        other = replace(measurand, axis=ACROSS[measurand.axis])
        found[other.name] = replace(number, measurand=other)
    return {name: found[name] for name in numbers if name in found} | found


def _along_the_other(by_axis: Mapping[Any, Value]) -> dict[Any, Value]:
    """What is kept by axis, in the order of x and y."""
    return {axis: by_axis[ACROSS[axis]] for axis in ACROSS if ACROSS[axis] in by_axis}


def _exchanged_names(patch: Patch) -> dict[str, str]:
    """Names of what edges, lines and gratings of one direction give together, both ways."""
    tones = {"", *(r.tone for r in patch.regions.values() if r.kind == "edge")}
    gratings = {r.ink or r.tone for r in patch.regions.values() if r.kind == "grating"}
    names = {}
    for axis, other in ACROSS.items():
        for tone in tones:
            name, new = (Measurand(Quantity.DETAIL, a, tone).name for a in (axis, other))
            names[name] = new
        names[f"lines_{axis}"] = f"lines_{other}"
        names |= {f"gratings_{field}_{axis}": f"gratings_{field}_{other}" for field in gratings}
    return names


def _warning(caution: Caution) -> Caution:
    if isinstance(caution, Finding) and isinstance(caution.evidence, Stretched):
        return replace(caution, evidence=Stretched(ACROSS[caution.evidence.longer]))
    return caution


def _transfer(found: Transfer) -> Transfer:
    return replace(found, x=found.y, y=found.x, shift_px=found.shift_px[::-1])


def _grain(grain: Grain) -> Grain:
    bands = tuple(replace(band, direction=ACROSS[band.direction]) for band in grain.bands)
    return replace(grain, bands=bands)
