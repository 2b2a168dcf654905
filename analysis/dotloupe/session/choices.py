"""What a print is made with: the choices that a plan names, for all its runs or for one."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field

from dotloupe.patch import HIGHEST_PPI, LOWEST_PPI

Name = Annotated[str, Field(min_length=1)]
FiniteNumber = Annotated[float, Field(allow_inf_nan=False)]
Level = str | float
FACTORS = ("printer", "paper", "mode", "alignment", "ppi", "inks", "driver", "sent")
"""Keys of a run that are factors, in the order in which they name a setting."""


class Table(BaseModel):
    """A table of a plan: no key that it does not know, no value of another type."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True, str_strip_whitespace=True)


class Choices(Table):
    """What a print was made with; said once at the top of a plan for all runs that say nothing.

    `factors` holds further choices by name, as `{resize = "area", sharpen = "none"}`. The costs
    are those of one print, in a currency of the reader's own. `sent` is the file of a version of
    the plan's picture, made elsewhere; by default the picture itself. `turned` says that the patch
    was fed turned by 90 degrees.
    """

    printer: Name | None = None
    paper: Name | None = None
    ppi: int | None = Field(default=None, ge=LOWEST_PPI, le=HIGHEST_PPI)
    mode: Name | None = None
    alignment: str | None = None
    inks: Name | None = None
    driver: Name | None = None
    sent: Name | None = None
    turned: bool | None = None
    factors: dict[Name, Name | FiniteNumber] | None = None
    print_seconds: float | None = Field(default=None, gt=0, allow_inf_nan=False)
    ink_cost: float | None = Field(default=None, ge=0, allow_inf_nan=False)
    paper_cost: float | None = Field(default=None, ge=0, allow_inf_nan=False)


def share_choices(content: dict[str, Any]) -> None:
    """Give every run what the top of the plan says for all of them."""
    given = content.get("runs")
    runs = given if isinstance(given, list) else []
    shared = {name: content[name] for name in Choices.model_fields if name in content}
    for run in runs:
        if isinstance(run, dict):
            common, own = shared.get("factors"), run.get("factors")
            run |= {name: value for name, value in shared.items() if name not in run}
            _name_sent(run, content.get("picture"), runs)
            if isinstance(common, dict) and isinstance(own, dict):
                run["factors"] = {**common, **own}


def _name_sent(run: dict[str, Any], picture: Any, runs: list[Any]) -> None:
    """Name the picture itself where other runs send a version of it."""
    versions = any(isinstance(r, dict) and "sent" in r for r in runs)
    if versions and isinstance(picture, dict) and "file" in picture:
        run.setdefault("sent", picture["file"])


def level_name(factor: str, level: Level) -> str:
    """Name a level within a setting's name: words as they are, a number with what it counts."""
    if isinstance(level, str):
        return level
    return f"{level:g} ppi" if factor == "ppi" else f"{factor} {level:g}"
