"""What a flange choice means for the casing pattern."""

import pytest

from selection.configuration import Flange, PatternWork
from selection.materials import BadFlange, BadQuantity, FlangeMade, nozzle_work
from selection.materials.nozzles import heavier
from tests.selection.materials.smallest import (
    FLANGES,
    METALS,
    flange,
    iron_class,
    nozzle,
    pattern,
    pn,
)

GREY = METALS["GJL-250"]


def made(standard: str, rating: str) -> FlangeMade:
    return FlangeMade(standard=standard, rating=rating)


@pytest.mark.parametrize(
    ("wanted", "work"),
    [
        (pn(16, 250), PatternWork.NONE),
        (iron_class(125, 10), PatternWork.DRILL_ONLY),
        (pn(10, 250), PatternWork.MODIFY),
        (pn(25, 250), PatternWork.MODIFY),
        (pn(40, 250), PatternWork.NEW),
        (iron_class(250, 10), PatternWork.NEW),
        (pn(16, 200), PatternWork.NEW),
    ],
)
def test_nothing_drill_thicken_or_another_pattern(wanted: Flange, work: PatternWork) -> None:
    answer = nozzle_work(wanted, nozzle(), GREY, FLANGES)
    assert (answer.work, answer.possible) == (work, work is not PatternWork.NEW)
    assert str(wanted) in answer.sentence


def test_a_pn_10_flange_on_a_pn_16_pattern_is_no_work_where_the_drilling_is_one():
    """DN 150: PN 10 and PN 16 are drilled alike."""
    small = nozzle(dn=150, blanks_for=())
    assert nozzle_work(pn(10, 150), small, GREY, FLANGES).work is PatternWork.NONE


def test_the_same_holes_do_not_make_a_flange_thick_enough():
    small = nozzle(dn=150, drilled_for=made("EN 1092-2", "PN 10"), blanks_for=())
    assert nozzle_work(pn(16, 150), small, GREY, FLANGES).work is PatternWork.MODIFY


def test_a_bronze_casing_takes_the_same_drilling_under_its_own_standard():
    wanted = flange("EN 1092-3", "PN 16", "DN 250")
    answer = nozzle_work(wanted, nozzle(), METALS["C95800"], FLANGES)
    assert answer.work is PatternWork.NONE
    assert "drilled alike" in answer.sentence


def test_a_ductile_casing_with_class_150_takes_the_class_125_blank():
    wanted = flange("ASME B16.42", "Class 150", "NPS 10")
    answer = nozzle_work(wanted, nozzle(), METALS["GJS-400-15"], FLANGES)
    assert answer.work is PatternWork.DRILL_ONLY


def test_a_flange_that_cannot_be_rated_is_not_promised():
    wanted = flange("EN 1092-2", "PN 25", "DN 250")
    answer = nozzle_work(wanted, nozzle(), METALS["C95800"], FLANGES)
    assert not answer.possible
    assert "cannot be rated" in answer.sentence


def test_the_heavier_of_two_nozzles_is_the_patterns_work():
    assert heavier(PatternWork.DRILL_ONLY, PatternWork.NONE) is PatternWork.DRILL_ONLY
    assert heavier(PatternWork.MODIFY, PatternWork.NEW) is PatternWork.NEW


def test_a_pattern_registered_with_an_unknown_flange_is_refused():
    odd = nozzle(drilled_for=made("EN 1092-2", "PN 17"))
    with pytest.raises(BadFlange, match="PN 16"):
        nozzle_work(pn(16, 250), odd, GREY, FLANGES)


@pytest.mark.parametrize(
    ("changed", "words"),
    [({"wall_mm": 0.0}, "wall"), ({"contraction_pct": 20.0}, "contraction")],
)
def test_an_impossible_pattern_is_refused(changed: dict[str, float], words: str) -> None:
    with pytest.raises(BadQuantity, match=words):
        pattern(**changed)


def test_an_impossible_nozzle_is_refused():
    with pytest.raises(BadQuantity, match="nozzle"):
        nozzle(rating_max_pa=0.0)
    with pytest.raises(BadQuantity, match="nominal size"):
        nozzle(dn=0)
