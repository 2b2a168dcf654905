"""What the comparison viewer needs to know, as plain values for its script."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from dotloupe.report.crops.files import Layer, Pictures, PrintPictures
from dotloupe.report.model import Setting
from dotloupe.report.plots import colour_number
from dotloupe.report.text import element_name, sentence, shown

GROUPS: Mapping[str, str] = {
    "bars": "Bars",
    "edge": "Edges",
    "tint": "Tints",
    "plain": "Tints",
    "line": "Lines",
    "texture": "Other",
    "text": "Other",
    "code": "Other",
    "mark": "Other",
}
"""Elements to jump to; gratings are too many to be named one by one."""


DIFFERENCES = "Where they differ most"
"""Places of a framed picture: the first to step to."""


def viewer_content(
    settings: Sequence[Setting], pictures: Pictures, distance_mm: float
) -> dict[str, object]:
    """Sizes in mm, elements to jump to, and each setting's pictures of its prints.

    Parameters
    ----------
    settings : sequence of Setting
        One without a picture is left out.
    pictures : Pictures
        As written beside the page.
    distance_mm : float
        From which the prints are looked at.
    """
    order = list(dict.fromkeys(GROUPS.values()))
    known = (r for r in pictures.regions if r.kind in GROUPS)
    elements = sorted(known, key=lambda r: order.index(GROUPS[r.kind]))
    first = list(pictures.places)[:1]
    apart = [
        {
            "name": sentence(pictures.places[name]),
            "group": DIFFERENCES,
            "box": box,
            "closeUp": box,
        }
        for name in pictures.differences
        if (box := _close_up(pictures, name)) is not None
    ]
    at_first = next((i for i, r in enumerate(elements) if r.name in first), -1)
    return {
        "size": list(pictures.size_mm),
        "distance": distance_mm,
        "start": 0 if apart else at_first,
        "elements": apart
        + [
            {
                "name": sentence(element_name(r)),
                "group": GROUPS[r.kind],
                "box": [round(v, 3) for v in (r.x_mm, r.y_mm, r.width_mm, r.height_mm)],
                "closeUp": _close_up(pictures, r.name),
            }
            for r in elements
        ],
        "settings": [
            {
                "name": shown(s.name),
                "colour": colour_number(s.index),
                "prints": [_print(p) for p in pictures.by_setting[s.name]],
            }
            for s in settings
            if pictures.by_setting[s.name]
        ],
    }


def _close_up(pictures: Pictures, place: str) -> list[float] | None:
    """Box that the close-up of a place shows, in mm."""
    for prints in pictures.by_setting.values():
        for shot in prints:
            if place in shot.close:
                return _box_of(shot.close[place])
    return None


def _print(pictures: PrintPictures) -> dict[str, object]:
    layers = (pictures.whole, *pictures.close.values())
    return {"name": shown(pictures.label), "layers": [_layer(layer) for layer in layers]}


def _layer(layer: Layer) -> dict[str, object]:
    return {
        "path": layer.path,
        "box": _box_of(layer),
        "scale": round(layer.pixels_per_mm, 3),
    }


def _box_of(layer: Layer) -> list[float]:
    box = layer.box
    return [round(v, 4) for v in (box.x_mm, box.y_mm, box.width_mm, box.height_mm)]
