"""What must be corrected when captures are measured again."""

import copy
import json
from itertools import product

import numpy as np
import pytest

from dotloupe.compare.effects import effects
from dotloupe.compare.errata import corrections
from dotloupe.compare.ladder.all_criteria import ladder
from dotloupe.compare.ranking.ranking import rank
from dotloupe.errors import InputError
from dotloupe.measurement import Measurement
from dotloupe.number import CRITERIA, Number
from dotloupe.report.text.corrections import correction_line


def measurement(name, detail):
    number = Number(detail, 0.99 * detail, 1.01 * detail, CRITERIA["detail_x"].unit)
    return Measurement(name, name, name, 1, None, True, (), (), {"detail_x": number})


def ranked(second):
    rng = np.random.default_rng(1)
    spread = 1 + 0.01 * rng.standard_normal((2, 3))
    made = {
        setting: [measurement(f"{setting}{i}", true * f) for i, f in enumerate(factors)]
        for setting, true, factors in zip("ab", (4.0, second), spread, strict=True)
    }
    return json.loads(json.dumps(rank(made).to_dict()))


def test_nothing_to_correct():
    assert corrections(ranked(3.0), ranked(3.0)) == ()
    # within the interval is no correction
    assert corrections(ranked(3.0), ranked(3.005)) == ()


def test_a_number_that_moved_beyond_its_interval_is_listed():
    found = corrections(ranked(3.0), ranked(3.3))
    moved = [c for c in found if c.criterion == "detail_x"]
    assert [(c.kind, c.subject) for c in moved] == [("moved", "b")]
    assert "was published, now 3.3" in correction_line(moved[0])


def test_a_verdict_that_changed_is_listed():
    found = corrections(ranked(3.0), ranked(4.0))
    places = [c for c in found if c.criterion == "detail_x" and c.kind == "place"]
    assert {c.subject for c in places} == {"a", "b"}
    assert (
        correction_line(places[0]) == "detail_x, a: published as place 1, now place 1, tied with b"
    )


def test_a_setting_that_is_gone_is_listed():
    again = copy.deepcopy(ranked(3.0))
    places = again["criteria"]["detail_x"]["places"]
    again["criteria"]["detail_x"]["places"] = [p for p in places if p["setting"] != "b"]
    found = [c for c in corrections(ranked(3.0), again) if c.criterion == "detail_x"]
    assert found[0].kind == "missing"
    assert found[0].now is None


def test_a_criterion_that_is_gone_is_listed():
    again = copy.deepcopy(ranked(3.0))
    del again["criteria"]["detail_x"]
    found = [c for c in corrections(ranked(3.0), again) if c.criterion == "detail_x"]
    assert [(c.kind, c.subject) for c in found] == [("missing", "a"), ("missing", "b")]


def test_an_interval_that_was_published_open_stays_so_in_words():
    published, again = ranked(3.0), ranked(3.0)
    for place in published["criteria"]["detail_x"]["places"]:
        place["high"] = None
    again["criteria"]["detail_x"]["places"] = []
    found = [c for c in corrections(published, again) if c.criterion == "detail_x"]
    assert all(" to open) cycles/mm was published" in correction_line(c) for c in found)


def climbed(knee):
    ppi = [150.0, 240, 300, 600, 1200]
    return ladder(
        {p: [measurement(f"{p}", 5 * (1 + (knee / p) ** 2) ** -0.5)] for p in ppi}
    ).to_dict()


def test_ladders_are_compared_point_by_point():
    assert corrections(climbed(60), climbed(60)) == ()
    found = corrections(climbed(60), climbed(120))
    assert {"moved", "enough"} <= {c.kind for c in found}
    assert any(c.subject == "150 ppi" for c in found)


def test_refusals():
    with pytest.raises(InputError, match="two of one kind"):
        corrections(ranked(3.0), climbed(60))
    with pytest.raises(InputError, match="not a ranking"):
        corrections({}, {})


def shot(name, detail, *, low=0.01, sent_ppi=None, fit=True, reasons=(), sha256=None):
    number = Number(detail, (1 - low) * detail, (1 + low) * detail, CRITERIA["detail_x"].unit)
    numbers = {"detail_x": number} if fit else {}
    sha256 = name if sha256 is None else sha256
    return Measurement(f"{name}.jpg", sha256, name, 1, sent_ppi, fit, reasons, (), numbers)


def test_a_ladders_corrections_say_what_changed_in_words():
    def climbed(knee):
        ppi = [150.0, 240, 300, 600, 1200]
        value = {p: 5 * (1 + (knee / p) ** 2) ** -0.5 for p in ppi}
        return ladder({p: [shot(f"{p}", value[p])] for p in ppi}).to_dict()

    published = climbed(60)
    assert [c["print"] for c in published["captures"]["150"]] == ["150.0"]
    del published["criterion"]  # as the first versions wrote it
    found = corrections(published, climbed(120))
    enough = next(c for c in found if c.kind == "enough")
    was, now = published["enough_ppi"], climbed(120)["enough_ppi"]
    assert (
        correction_line(enough) == f"detail_x: enough was published as {was:g} ppi, now {now:g} ppi"
    )


def crossed(change=1.0):
    rng = np.random.default_rng(2)
    settings, levels = {}, {}
    for mode, alignment in product("fs", "ba"):
        setting = f"{mode}, {alignment}"
        true = 4.0 * (change if (mode, alignment) == ("f", "b") else 1.0)
        settings[setting] = [
            measurement(f"{setting}{i}", true * (1 + 0.01 * rng.standard_normal()))
            for i in range(3)
        ]
        levels[setting] = {"mode": mode, "alignment": alignment}
    return json.loads(json.dumps(effects(settings, levels).to_dict()))


def test_an_effect_that_moved_and_one_that_shows_only_now_are_listed():
    assert corrections(crossed(), crossed()) == ()
    found = corrections(crossed(), crossed(1.2))
    assert {c.kind for c in found} == {"moved", "told apart"}
    shown = {c.subject for c in found if c.kind == "told apart" and c.now}
    assert "mode, f to s; alignment b" in shown
    assert "mode, f to s; alignment a" not in {c.subject for c in found}
    assert any(c.subject == "mode, f to s; alignment, b to a" for c in found)
    assert all(correction_line(c) for c in found)


def test_results_of_two_kinds_are_refused():
    with pytest.raises(InputError, match="unlike kinds"):
        corrections(ranked(3.0), crossed())
