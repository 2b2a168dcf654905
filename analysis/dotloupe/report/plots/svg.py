"""Plots within a page: colours that follow its ground, names that do not clash."""

from __future__ import annotations

import re

from dotloupe.report.plots.style import page_colours

VARIABLES = {colour: f"var(--{name})" for name, colour in page_colours().items()}
"""Colours of a plot's file to those of a page."""


def inlined(svg: str, prefix: str, title: str) -> str:
    """Return an SVG file's drawing to stand within a page.

    Parameters
    ----------
    svg : str
        As `svg_text` gives it.
    prefix : str
        Put before every name in it; letters and digits.
    title : str
        The text alternative.
    """
    from markupsafe import escape

    body = svg[svg.index("<svg") :]
    for dropped in (r"<!--.*?-->", r"<metadata>.*?</metadata>", r"<style.*?</style>"):
        body = re.sub(dropped, "", body, flags=re.DOTALL)
    end = body.index(">") + 1
    view = re.search(r'viewBox="[0-9. ]*"', body[:end])
    words_and_tags = re.split(r"(<[^>]+>)", body[end:])
    # all at once, as there are hundreds; no XML holds what stands between them here
    words_and_tags[1::2] = _within_page("\0".join(words_and_tags[1::2]), prefix).split("\0")
    inner = "".join(words_and_tags)
    head = (
        f'<svg class="plot" {view.group() if view else ""} role="img" '
        f'aria-labelledby="{prefix}-title">'
    )
    return f'{head}<title id="{prefix}-title">{escape(title)}</title>{inner}'


def _within_page(tags: str, prefix: str) -> str:
    for name in (' id="', 'href="#', "url(#"):
        tags = tags.replace(name, name + prefix + "-")
    return re.sub(r"#[0-9a-f]{6}\b", lambda c: VARIABLES.get(c.group(), c.group()), tags)
