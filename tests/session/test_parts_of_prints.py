"""Photographs of parts that do not show the code take the ppi from others of their print."""

from dataclasses import replace

import numpy as np

from dotloupe.measurement import Measurement
from dotloupe.registration import Registration
from dotloupe.session.settings import by_sent_ppi, with_code_of_print

PLACED = Registration(np.eye(3), 40.0, 1.0, 0.04, sight_mm=(0.0, 0.0, 17.0, 11.0))
PART = Measurement("a_shot1.png", "1", "a", 7, None, True, (), (), {}, registration=PLACED)
CODED = replace(PART, path="a_shot2.png", sha256="2", sent_ppi=360.0)


def test_the_code_of_another_photograph_of_the_print_says_the_ppi():
    assert [m.sent_ppi for m in with_code_of_print([PART, CODED])] == [360.0, 360.0]
    assert set(by_sent_ppi(with_code_of_print([PART, CODED]))) == {360.0}


def test_another_print_and_a_whole_patch_with_an_unread_code_say_nothing():
    other = replace(CODED, print_id="b")
    assert with_code_of_print([PART, other])[0].sent_ppi is None
    whole = replace(PART, registration=replace(PLACED, sight_mm=None))
    assert with_code_of_print([whole, CODED])[0].sent_ppi is None
