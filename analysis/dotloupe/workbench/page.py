"""The workbench's page, its style and script within it."""

from __future__ import annotations

import base64
import hashlib
from functools import cache
from typing import TYPE_CHECKING

from dotloupe.report.plots import page_colours

if TYPE_CHECKING:
    from pathlib import Path

    from jinja2 import Environment


def page_text(root: Path, history: Path) -> str:
    """Return the page as HTML; what lies in the folder comes to it afterwards."""
    from dotloupe.capture import SUFFIXES
    from dotloupe.patch import HIGHEST_PPI, LAST_RUN, LOWEST_PPI
    from dotloupe.storage import program_version
    from dotloupe.workbench.sheets import MOST_PRINTS, PAPERS

    return (
        _environment()
        .get_template("bench.html")
        .render(
            folder=root.name or str(root),
            path=str(root),
            version=program_version(),
            light=page_colours(),
            dark=page_colours(dark=True),
            script=_script(),
            endings=",".join(SUFFIXES),
            history=str(history),
            papers=PAPERS,
            ppi=(LOWEST_PPI, HIGHEST_PPI),
            last_run=LAST_RUN,
            most_prints=MOST_PRINTS,
        )
    )


@cache
def content_policy() -> str:
    """What the browser may load: this server's pictures, the page's own style and script."""
    digest = base64.b64encode(hashlib.sha256(_script().encode()).digest()).decode()
    return (
        "default-src 'none'; img-src 'self'; connect-src 'self'; style-src 'unsafe-inline'; "
        f"script-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    )


@cache
def _script() -> str:
    return _environment().get_template("bench.js").render()


@cache
def _environment() -> Environment:
    from jinja2 import ChoiceLoader, Environment, PackageLoader, StrictUndefined, select_autoescape

    return Environment(
        loader=ChoiceLoader(
            [PackageLoader("dotloupe.workbench"), PackageLoader("dotloupe.report")]
        ),
        autoescape=select_autoescape(["html"]),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
