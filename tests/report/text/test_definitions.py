"""The terms that a page explains are those that it shows."""

from compare.invented import shots

from dotloupe.compare.ranking.ranking import rank
from dotloupe.number import CRITERIA, Quantity
from dotloupe.report.model import ranking_model
from dotloupe.report.text.definitions import DEFINITIONS, TERMS, method

CONSTANT = ["95 % interval", "x and y"]


def test_only_what_the_page_shows_is_explained():
    ranking = rank({"a": shots("a", detail_x=4.0), "b": shots("b", detail_x=5.0)})
    named = [term for term, _ in method(ranking_model(ranking)).terms]
    assert named == ["Detail", "Visible steps", *CONSTANT]


def test_every_quantity_that_settings_are_ranked_by_can_be_explained():
    known = {*DEFINITIONS, Quantity.GRAIN}
    assert {c.measurand.quantity for c in CRITERIA.values()} <= known
    assert set(TERMS) == set(DEFINITIONS)
