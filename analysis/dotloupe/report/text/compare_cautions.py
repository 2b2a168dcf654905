"""Sentences of the cautions that comparisons give."""

from __future__ import annotations

from functools import singledispatch

from dotloupe.capture import SetUpPart
from dotloupe.cautions import Caution
from dotloupe.compare import cautions as of
from dotloupe.report.text.phrases import listed, named

MOST_SAID = 50.0
"""Per cent from which a bound says nothing."""

WITHOUT_FIELDS: dict[type[Caution], str] = {
    of.OnePrintEach: (
        "one print a setting: every place, interval and difference holds for these prints alone; "
        "what another print of the same setting would show is not known, and whether the settings "
        "differ needs a second print of each"
    ),
    of.TwoPrints: "two prints a setting tell little of how prints vary: add a third",
    of.UnknownSpread: "some values have no interval and no repeat: they cannot be told apart",
    of.OnePrintEachPpi: (
        "one print a ppi: the intervals hold for these prints; how prints vary is not known"
    ),
    of.TooFewForTrend: "fewer than four ppi: no trend can be drawn, send more values",
    of.TooFewForOutstanding: "fewer than five ppi: whether one stands out cannot be tested",
    of.StillRising: "still rising at the highest ppi sent: send higher ones to find the plateau",
    of.LowestIsEnough: ("the lowest ppi sent is enough already: send lower ones to find the limit"),
    of.EmptyBaseline: "no print falls in the baseline given: choose other days",
    of.TooFewForLimits: "nothing to compare with yet: add three prints on another day",
    of.NoSpread: (
        "one print of each combination, and nothing to tell how prints vary: no interval can be "
        "given; print each a second time"
    ),
    of.ShortBaseline: ("a short baseline: its limits are wide, they narrow with every print in it"),
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
    return f"{caution.path}: the same photograph as {caution.first_path}, counted once"


@compare_caution.register
def _(caution: of.NoFitCapture) -> str:
    return f"{caution.noun} {caution.setting}: no capture is fit to be measured, left out"


@compare_caution.register
def _(caution: of.MixedSentPpi) -> str:
    values = ", ".join(f"{ppi:g}" for ppi in caution.sent_ppi)
    return f"setting {caution.setting}: its prints carry different sent ppi ({values})"


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
        f"Differences between settings may be those of the set-ups{detail}: photograph all prints "
        "in one set-up"
    )


@compare_caution.register
def _(caution: of.SamePrintTwice) -> str:
    names = listed([named(setting) for setting in caution.settings])
    return (
        f"by its marks, run {caution.run} stands under {names}: one print under several settings, "
        "or one run number given twice. What differs between them is not the printer's"
    )


@compare_caution.register
def _(caution: of.NotInOverall) -> str:
    return f"overall leaves out {caution.criterion}: not every setting has it"


@compare_caution.register
def _(caution: of.NoValue) -> str:
    return f"setting {caution.setting}: no value of this criterion"


@compare_caution.register
def _(caution: of.SinglePrints) -> str:
    return f"one print of {', '.join(caution.settings)}: assumed to vary as the other settings do"


@compare_caution.register
def _(caution: of.OtherPpiInCode) -> str:
    return (
        f"{caution.path}: its code says it was sent at {caution.code_ppi:g} ppi, it is counted as "
        f"{caution.counted_ppi:g} ppi"
    )


@compare_caution.register
def _(caution: of.SeveralVersions) -> str:
    return (
        f"measured by versions {', '.join(caution.versions)} of the program: measure the older "
        "captures again, so that a step is the printer's"
    )


@compare_caution.register
def _(caution: of.CaptureWarning) -> str:
    return f"{caution.warning}: {caution.count} of {caution.photographs} photographs"


@compare_caution.register
def _(caution: of.MissingCombinations) -> str:
    return (
        f"not printed, or not fit: {'; '.join(caution.combinations)}. "
        "Each effect is taken over the combinations that both its levels share"
    )


@compare_caution.register
def _(caution: of.SpreadByInteractions) -> str:
    degrees = f"{caution.degrees} degree{'' if caution.degrees == 1 else 's'} of freedom"
    if caution.for_interactions:
        return (
            "one print of each combination: interactions of three factors or more stand in for "
            f"how prints vary, with {degrees}; a second print of each would tell it"
        )
    return (
        "one print of each combination: how prints vary is judged from how the factors depend on "
        f"each other, with {degrees}. Whether they do depend takes a second print of each"
    )


@compare_caution.register
def _(caution: of.SpreadByHistory) -> str:
    return (
        "one print of each combination: how prints vary is taken from the history, with "
        f"{caution.degrees:.0f} degrees of freedom; whether they vary so today takes a second print"
    )


@compare_caution.register
def _(caution: of.LowerBounds) -> str:
    return (
        f"only a lower bound is known of {'; '.join(caution.combinations)}: no interval of what "
        "rests on it; photograph from closer"
    )


@compare_caution.register
def _(caution: of.UnequalPrints) -> str:
    return f"{caution.fewest} to {caution.most} prints a combination: each combination counts alike"


@compare_caution.register
def _(caution: of.UnequalSpreads) -> str:
    return (
        f"prints of {caution.most} vary {caution.ratio:.1f} times as much as those of "
        f"{caution.least}: each combination's own spread counts"
    )


@compare_caution.register
def _(c: of.OfAnotherRun) -> str:
    return (
        f"its marks say run {c.run}, those of {c.other_path}, whose name says the same print, run "
        f"{c.other_run}; name it after its own print"
    )


@compare_caution.register
def _(caution: of.KnownSpreadTaken) -> str:
    return (
        f"assumed that prints vary as the history says, by {caution.sd:.2g} (standard deviation, "
        f"{caution.degrees:g} degrees of freedom); a test found nothing against it"
    )


@compare_caution.register
def _(caution: of.KnownSpreadLeftOut) -> str:
    return (
        f"the history says that prints vary by {caution.sd:.2g}; these prints vary otherwise, or "
        "are too few to test it, so it was left out"
    )
