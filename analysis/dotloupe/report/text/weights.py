"""What the overall places rest on: weights, and whether other weights would change them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dotloupe.number import OVERALL
from dotloupe.report.text.phrases import listed, phrase, quoted, sentence
from dotloupe.report.text.rounding import number_text
from dotloupe.report.text.scope import subject

if TYPE_CHECKING:
    from collections.abc import Mapping

    from dotloupe.compare.ranking import Ranking

OTHER_LEADERS = 3
"""So many criteria that another setting leads are named."""

SMALLEST_SHARE = 0.05
"""Contributions under so many steps are not named."""


def contributions_sentence(ranking: Ranking) -> str:
    """Say what each criterion gives to the lead over the last setting; empty without a lead."""
    overall = ranking.overall
    if overall is None:
        return ""
    shares = overall.contributions[overall.winner]
    large = sorted(shares.items(), key=lambda share: -abs(share[1]))
    parts = [
        f"{number_text(steps, 1)} from {phrase(name)}"
        for name, steps in large
        if abs(steps) >= SMALLEST_SHARE
    ]
    if not parts:
        return ""
    lead = number_text(sum(shares.values()), 1)
    winner = subject(quoted(overall.winner), ranking.scope)
    measures = f"measures {lead} steps ahead, though tied" if _is_tied(ranking) else ""
    return f"{sentence(winner)} {measures or f'is {lead} steps ahead'}: {listed(parts)}."


def _is_tied(ranking: Ranking) -> bool:
    """Whether the first place overall is shared."""
    return any(p.place == 1 and p.tied_with for p in ranking.criteria[OVERALL.name].places)


def overall_sentences(ranking: Ranking) -> tuple[str, ...]:
    """Say what the overall values count from, and what each criterion gives to the lead."""
    overall = ranking.overall
    if overall is None or not (places := ranking.criteria[OVERALL.name].places):
        return ()
    last = subject(quoted(places[-1].setting), ranking.scope)
    zero = (
        f"Zero is the mean of {last}. Intervals here are those of single settings; the verdict "
        "gives that of the difference."
        if ranking.scope == "settings"
        else f"Zero is {last}. Intervals here are those of single prints; the verdict gives that "
        "of the difference."
    )
    return tuple(filter(None, (zero, contributions_sentence(ranking))))


def weights_sentences(ranking: Ranking) -> tuple[str, ...]:
    """Say how the criteria count in the overall places, and what other weights would do."""
    overall = ranking.overall
    if overall is None:
        return ()
    distance = f"{overall.viewing_distance_mm / 10:g} cm"
    said = [
        f"Overall adds up just visible steps at {distance}: {_shares(overall.weights)}.",
        *overall_sentences(ranking),
    ]
    if _is_tied(ranking):
        return tuple(said)
    if not overall.winner_depends_on_weights:
        said.append(
            f"No choice of weights would rank another setting above {quoted(overall.winner)}."
        )
        return tuple(said)
    if overall.weights_may_change_by is not None:
        factor = number_text(overall.weights_may_change_by, 1)
        said.append(
            f"{quoted(overall.winner)} stays first unless a weight is made more than {factor} "
            "times as heavy or as light."
        )
    rivals = {
        phrase(c): quoted(s)
        for c, s in overall.winner_by_criterion.items()
        if s is not None and s != overall.winner
    }
    if rivals:
        each = [f"{what} alone puts {s} first" for what, s in list(rivals.items())[:OTHER_LEADERS]]
        said.append(f"{sentence(listed(each))}.")
    return tuple(said)


def _shares(weights: Mapping[str, float]) -> str:
    """Return how much of its steps each criterion adds, those of one weight together."""
    by_weight: dict[float, list[str]] = {}
    for name, weight in weights.items():
        by_weight.setdefault(round(weight, 4), []).append(phrase(name))
    parts = []
    for weight, names in sorted(by_weight.items(), reverse=True):
        share = "all" if weight == 1 else f"{100 * weight:.3g} %"
        parts.append(f"{share} of those in {listed(names)}")
    return ", ".join(parts)
