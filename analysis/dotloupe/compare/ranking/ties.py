"""Groups of settings that cannot be told apart, and their letters."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence


def tie_groups(
    settings: Sequence[str], distinguishable: Iterable[tuple[str, str]]
) -> tuple[tuple[str, ...], ...]:
    """Largest groups in which no two settings can be told apart, best setting first.

    Parameters
    ----------
    settings : sequence of str
        From best to worst.
    distinguishable : iterable of pairs of str
        The pairs that were told apart.

    Notes
    -----
    Insert and absorb, Piepho (2004): start with one group of all; a pair that is told apart splits
    every group that holds both; groups within a larger one are dropped.
    """
    groups = [frozenset(settings)]
    for a, b in distinguishable:
        split = [g - {x} for g in groups if a in g and b in g for x in (a, b)]
        whole = [g for g in groups if not (a in g and b in g)]
        candidates = list(dict.fromkeys(whole + split))
        groups = [g for g in candidates if not any(g < other for other in candidates)]
    order = {s: i for i, s in enumerate(settings)}
    ranked = [tuple(sorted(g, key=order.__getitem__)) for g in groups]
    return tuple(sorted(ranked, key=lambda g: [order[s] for s in g]))


def letters(settings: Sequence[str], groups: Sequence[Sequence[str]]) -> dict[str, str]:
    """Letters of each setting: two settings that share one cannot be told apart."""
    names = [_letter(i) for i in range(len(groups))]
    return {s: "".join(n for n, g in zip(names, groups, strict=True) if s in g) for s in settings}


def _letter(index: int) -> str:
    letter = chr(ord("a") + index % 26)
    return letter if index < 26 else f"{letter}{index // 26}"
