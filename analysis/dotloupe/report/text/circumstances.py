"""The circumstances of a test as short lines, for the page and for JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dotloupe.report.text.phrases import listed, shown

if TYPE_CHECKING:
    from collections.abc import Iterable

    from dotloupe.report.circumstances import Circumstances
    from dotloupe.report.model import ReportModel


def circumstances_rows(given: Circumstances, model: ReportModel) -> dict[str, str]:
    """Return what is known of a test, each by its name; nothing that is not known.

    Parameters
    ----------
    given : Circumstances
        From the person and the session file.
    model : ReportModel
        Whose photographs tell of the camera.
    """
    set_ups = [m.set_up for s in model.settings for m in s.measurements if m.set_up is not None]
    apertures = sorted({s.f_number for s in set_ups if s.f_number})
    distance_mm = model.viewing_distance_mm
    rows = {
        **given.named,
        "camera": _each(s.camera for s in set_ups),
        "lens": _each(s.lens for s in set_ups),
        "aperture": listed(f"f/{f:g}" for f in apertures),
        "photographed": _span(s.taken[:10].replace(":", "-") for s in set_ups),
        "viewing distance": "" if distance_mm is None else f"{distance_mm / 10:g} cm",
        "measured by": f"dotloupe {model.version}",
        "note": given.note,
    }
    return {name: shown(value) for name, value in rows.items() if value}


def _each(values: Iterable[str]) -> str:
    return listed(dict.fromkeys(filter(None, values)))


def _span(days: Iterable[str]) -> str:
    found = sorted(set(filter(None, days)))
    if len(found) < 2:
        return "".join(found)
    return f"{found[0]} to {found[-1]}"
