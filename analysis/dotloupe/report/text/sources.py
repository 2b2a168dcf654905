"""Where the numbers of a result come from: captures with their hashes, and parameters."""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from math import inf

from dotloupe.cautions import Caution
from dotloupe.compare.history import ALARM, Trend
from dotloupe.fitness import Finding, Symptom
from dotloupe.measurement import CameraState, Measurement
from dotloupe.number import CRITERIA
from dotloupe.report.model import HistoryModel, ReportModel, sources_of
from dotloupe.report.text.cautions import caution_text
from dotloupe.report.text.phrases import camera_source_text, counted, listed, phrase
from dotloupe.report.text.trend import number_phrase

UNKNOWN = "–"
CAMERA_NOTES = {
    CameraState.INCLUDED: (
        "the numbers include the camera's own softness, as no reference edge was given"
    ),
    CameraState.TAKEN_OUT: "camera taken out",
}
"""What is said of a capture's camera beside its warnings."""
BOUNDS = {Symptom.POSSIBLE_LOSS, Symptom.POSSIBLE_GAIN}
"""What a photograph says by "up to" alone."""
PARAMETER_NAMES = {
    "criterion": "criterion that decides whether one ppi stands out",
    "share": "share of the plateau that counts as enough",
    "family_error": "chance that a criterion reports a difference where there is none",
    "power": "chance of finding a difference as large as the smallest named",
    "weights": "weight of each criterion's visible steps in the overall",
    "camera_by_scale": "camera from two distances of one print",
    "blank_paper": "blank paper, used to even out the light",
    "viewing_distance_mm": "viewing distance, mm",
}
"""What the parameters of a comparison are."""


@dataclass(frozen=True)
class Sources:
    """The captures behind a result as a table, the hash last.

    Attributes
    ----------
    heads : tuple of str
    rows : tuple of tuple of str
    warnings : tuple of (str, str)
        How many captures carry a warning, and the warning.
    """

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    warnings: tuple[tuple[str, str], ...]


def capture_sources(model: ReportModel) -> Sources:
    """List every capture that the numbers of the settings rest on."""
    heads = ("Setting", "Capture", "Print", "Run", "Sent ppi", "Registration error, um")
    in_parts = any(len(m.photographs) > 1 for s in model.settings for m in s.measurements)
    rows, warned = [], dict[Hashable, tuple[int, float, str]]()
    for setting in model.settings:
        for of_print in setting.measurements:
            for m in of_print.photographs:
                left = UNKNOWN if m.registration is None else f"{m.registration.residual_um:.1f}"
                facts = (_known(m.run), _known(m.sent_ppi), left)
                given = (_numbers_from(m, of_print),) if in_parts else ()
                rows.append((setting.name, m.path, m.print_id, *facts, *given, m.sha256))
                for key, bound, text in _notes(m):
                    count, most, worst = warned.get(key, (0, -inf, ""))
                    warned[key] = (count + 1, *max((most, worst), (bound, text)))
    warnings = tuple(
        ("every capture" if count == len(rows) else counted(count, "capture"), warning)
        for count, _, warning in warned.values()
    )
    further = ("Numbers from it",) if in_parts else ()
    return Sources((*heads, *further, "SHA-256"), tuple(rows), warnings)


def _numbers_from(photograph: Measurement, of_print: Measurement) -> str:
    """Criteria that a photograph has a share in, and how many numbers more."""
    names = [n for n in of_print.numbers if photograph.path in sources_of(of_print, n)]
    criteria = [CRITERIA[n].measurand.phrase for n in names if n in CRITERIA]
    more = len(names) - len(criteria)
    if not names:
        return "none"
    others = [counted(more, "further number" if criteria else "number")] if more else []
    return listed([*criteria, *others])


def _notes(m: Measurement) -> list[tuple[Hashable, float, str]]:
    """What is said of a capture: by what it is counted, the bound that it names, the sentence."""
    notes = [_note(warning) for warning in m.warnings]
    camera = m.parameters.camera
    if camera is None:
        return notes
    said = f"{CAMERA_NOTES[camera]}{camera_source_text(m.parameters)}"
    return [*notes, (said, 0.0, said)]


def _note(warning: Caution) -> tuple[Hashable, float, str]:
    """Count bounds together, whatever their size; the worst of them is said of all."""
    text = caution_text(warning)
    if isinstance(warning, Finding) and warning.limits.symptom in BOUNDS:
        return (warning.fault, warning.limits.symptom), warning.value, text
    return text, 0.0, text


def history_sources(trends: Sequence[Trend]) -> Sources:
    """List every capture that a printer's history rests on."""
    points = {p.captures: p for t in trends for p in t.points}
    rows = tuple(
        (str(p.printed_on), p.print_id, _known(p.run), ", ".join(p.versions), capture)
        for p in sorted(points.values(), key=lambda p: (p.printed_on, p.print_id))
        for capture in p.captures
    )
    return Sources(("Printed on", "Print", "Run", "Measured by version", "SHA-256"), rows, ())


def comparison_parameters(parameters: Mapping[str, object]) -> list[tuple[str, str]]:
    """Name and value of every parameter of a ranking or a ladder."""
    return [
        (PARAMETER_NAMES.get(name, _name(name)), _parameter(value))
        for name, value in parameters.items()
    ]


def history_parameters(model: HistoryModel) -> list[tuple[str, str]]:
    """Name and value of what was chosen of a history, and of the chance that limits rest on."""
    trend = model.trends[0]
    return [
        ("numbers", str(len(model.trends)) if model.head else number_phrase(trend)),
        ("printer", trend.printer),
        ("mode", trend.mode),
        ("paper", trend.paper),
        ("chance of a false alarm on each day of prints", f"{100 * ALARM:g} %"),
    ]


def _parameter(value: object) -> str:
    if isinstance(value, Mapping):
        return ", ".join(f"{_name(str(k))} {_parameter(v)}" for k, v in value.items())
    if isinstance(value, list):
        return "; ".join(map(_parameter, value))
    return f"{value:g}" if isinstance(value, float) else phrase(str(value), str(value))


def _name(name: str) -> str:
    return phrase(name, name.replace("_", " "))


def _known(value: float | None) -> str:
    return UNKNOWN if value is None else f"{value:g}"
