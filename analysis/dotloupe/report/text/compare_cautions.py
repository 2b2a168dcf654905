"""Sentences of the cautions that comparisons give."""

from __future__ import annotations

from functools import singledispatch
from pathlib import PurePath

from dotloupe.capture import SetUpPart
from dotloupe.cautions import Caution
from dotloupe.compare import cautions as of
from dotloupe.report.text.phrases import counted, listed, phrase, quoted

MOST_SAID = 50.0
"""Per cent from which a bound says nothing."""
MOST_PAIRS_NAMED = 3

WITHOUT_FIELDS: dict[type[Caution], str] = {
    of.OnePrintEach: (
        "one print of each setting: every number holds for these prints only. Whether the settings "
        "differ takes a second print of each"
    ),
    of.TwoPrints: "two prints of a setting say little about how prints vary: add a third",
    of.UnknownSpread: "some values have no interval and no repeat, so they cannot be distinguished",
    of.OnePrintEachPpi: (
        "one print at each ppi: the intervals hold for these prints only. Print each a second time "
        "to learn how prints vary"
    ),
    of.TooFewForTrend: "fewer than four ppi: too few for a trend. Send more values",
    of.TooFewForOutstanding: "fewer than five ppi: too few to test whether one stands out",
    of.StillRising: "still rising at the highest ppi sent: send higher ones to find the plateau",
    of.LowestIsEnough: "the lowest ppi sent is already enough: send lower ones to find the limit",
    of.EmptyBaseline: "no print falls in the baseline given: choose other days",
    of.TooFewForLimits: "nothing to compare with yet: add three prints on another day",
    of.NoSpread: (
        "one print of each combination, and no record of how prints vary: no interval can be "
        "given. Print each a second time"
    ),
    of.ShortBaseline: "a short baseline: its limits are wide and narrow with every further print",
}


@singledispatch
def compare_caution(caution: Caution) -> str:
    """Return the sentence of a caution that a comparison gives."""
    raise NotImplementedError(f"no sentence for {type(caution).__name__}")


def _plain_text(caution: Caution) -> str:
    return WITHOUT_FIELDS[type(caution)]


for _kind in WITHOUT_FIELDS:
    compare_caution.register(_kind, _plain_text)


@compare_caution.register
def _(caution: of.DuplicateCapture) -> str:
    return f"{caution.path} is the same photograph as {caution.first_path}; it counts once"


@compare_caution.register
def _(caution: of.NoFitCapture) -> str:
    return (
        f"{caution.noun} {quoted(caution.setting)} is left out: no capture of it is fit to be "
        "measured"
    )


@compare_caution.register
def _(caution: of.MixedSentPpi) -> str:
    values = ", ".join(f"{ppi:g}" for ppi in caution.sent_ppi)
    return f"the prints of {quoted(caution.setting)} were sent at different ppi ({values})"


@compare_caution.register
def _(caution: of.MixedKinds) -> str:
    kinds = listed(f"{counted(n, 'photograph')} of {kind} patches" for kind, n in caution.counts)
    return (
        f"{quoted(caution.setting)} mixes {kinds}; each number comes from one kind alone. Keep "
        "each kind in a folder of its own unless you mean this"
    )


@compare_caution.register
def _(caution: of.DifferentSetUps) -> str:
    """Say what differs, what that may cost, and what to do."""
    least, most = caution.pixels_per_mm
    details = {
        SetUpPart.CAMERA: f"camera ({', '.join(caution.cameras)})",
        SetUpPart.SAMPLING: f"sampling ({least:.0f} to {most:.0f} pixels/mm)",
        SetUpPart.FILE_KIND: f"kind of file ({', '.join(caution.file_kinds)})",
        SetUpPart.TONE: "tone curve",
    }
    lost = caution.most_lost_percent
    detail = "" if lost is None or lost >= MOST_SAID else f", up to {lost:.0f} % of MTF50"
    return (
        f"the photographs differ in {listed([details[part] for part in caution.parts])}. "
        f"This may account for differences between settings{detail}. Photograph all prints in one "
        "set-up"
    )


@compare_caution.register
def _(caution: of.SamePrintTwice) -> str:
    names = listed([quoted(setting) for setting in caution.settings])
    return (
        f"the marks of run {caution.run} appear under {names}: one print in several settings, or "
        "one run number used twice. Differences between them are not the printer's"
    )


@compare_caution.register
def _(caution: of.NotInOverall) -> str:
    them = "it" if len(caution.criteria) == 1 else "them"
    missing = listed(map(phrase, caution.criteria))
    return f"overall leaves out {missing}: not every setting has {them}"


@compare_caution.register
def _(caution: of.NoValue) -> str:
    return f"{quoted(caution.setting)} has no value of this criterion"


@compare_caution.register
def _(caution: of.WithinUnnoticedFaults) -> str:
    named = [f"{quoted(a)} from {quoted(b)}" for a, b in caution.pairs[:MOST_PAIRS_NAMED]]
    more = len(caution.pairs) - len(named)
    pairs = listed([*named, counted(more, "further pair")] if more else named)
    return (
        f"less than {caution.unnoticed_percent:g} % apart: {pairs}. A photograph slightly tilted "
        "or out of focus may cost as much unnoticed: print and photograph each again"
    )


@compare_caution.register
def _(caution: of.SinglePrints) -> str:
    return f"one print of {listed(map(quoted, caution.settings))}: assumed to vary as the others do"


@compare_caution.register
def _(caution: of.OtherPpiInCode) -> str:
    return (
        f"{PurePath(caution.path).name} is counted as {caution.counted_ppi:g} ppi, but its code "
        f"says {caution.code_ppi:g} ppi"
    )


@compare_caution.register
def _(caution: of.SeveralVersions) -> str:
    return (
        f"measured by versions {listed(caution.versions)} of the program. Measure the older "
        "captures again, so that any step comes from the printer"
    )


@compare_caution.register
def _(caution: of.CaptureWarning) -> str:
    return f"{caution.warning}: {caution.count} of {caution.photographs} photographs"


@compare_caution.register
def _(caution: of.SimulatedCaptures) -> str:
    return (
        f"{caution.count} of {counted(caution.photographs, 'photograph')} are simulated: they come "
        "from no printer and no camera"
    )


@compare_caution.register
def _(caution: of.MissingCombinations) -> str:
    return (
        f"not printed, or not fit: {'; '.join(caution.combinations)}. "
        "Each effect uses the combinations that both its levels share"
    )


@compare_caution.register
def _(caution: of.SpreadByInteractions) -> str:
    degrees = f"{caution.degrees} degree{'' if caution.degrees == 1 else 's'} of freedom"
    if caution.for_interactions:
        return (
            "one print of each combination: interactions of three factors or more stand in for the "
            f"variation of prints, with {degrees}. Print each a second time to measure it"
        )
    return (
        "one print of each combination: interactions stand in for the variation of prints, with "
        f"{degrees}. Whether choices depend on each other takes a second print of each"
    )


@compare_caution.register
def _(caution: of.SpreadByHistory) -> str:
    return (
        "one print of each combination: the history supplies the variation of prints, with "
        f"{caution.degrees:.0f} degrees of freedom. A second print would test whether it still "
        "holds"
    )


@compare_caution.register
def _(caution: of.LowerBounds) -> str:
    return (
        f"only a lower bound is known of {'; '.join(caution.combinations)}, so whatever depends "
        "on it has no interval. Photograph from closer"
    )


@compare_caution.register
def _(caution: of.UnequalPrints) -> str:
    return (
        f"{caution.fewest} to {caution.most} prints of each combination: all combinations count "
        "equally"
    )


@compare_caution.register
def _(caution: of.UnequalSpreads) -> str:
    return (
        f"prints of {caution.most} vary {caution.ratio:.1f} times as much as those of "
        f"{caution.least}, so each combination has its own spread"
    )


@compare_caution.register
def _(c: of.OfAnotherRun) -> str:
    return (
        f"its marks read run {c.run}, but {PurePath(c.other_path).name}, named as the same print, "
        f"reads run {c.other_run}. Name it after its own print"
    )


@compare_caution.register
def _(caution: of.KnownSpreadTaken) -> str:
    return (
        f"prints are assumed to vary as in the history, with a standard deviation of "
        f"{caution.sd:.2g} ({caution.degrees:g} degrees of freedom); a test found no disagreement"
    )


@compare_caution.register
def _(caution: of.KnownSpreadLeftOut) -> str:
    return (
        f"the history gives a standard deviation of {caution.sd:.2g}; it is left out, because "
        "these prints vary differently or are too few to test it"
    )
