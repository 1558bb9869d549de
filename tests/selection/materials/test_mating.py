"""Which flanges bolt up, and what the joint may see."""

import pytest

from selection.configuration import Flange
from selection.materials import Outcome, joint_rating, mate
from tests.selection.materials.smallest import (
    COLD_K,
    FLANGES,
    METALS,
    celsius,
    flange,
    iron_class,
    pn,
)
from works.standards import Certainty

GREY, STEEL, DUCTILE = METALS["GJL-250"], METALS["WCB"], METALS["GJS-400-15"]
SIZES = (50, 65, 80, 100, 125, 150, 200, 250, 300, 350, 400, 450, 500, 600)
NPS = (2, 2.5, 3, 3.5, 4, 5, 6, 8, 10, 12, 14, 16, 18, 20, 24)


def meeting(one: Flange, other: Flange) -> Outcome:
    return mate(one, GREY, other, None, COLD_K, FLANGES).outcome


@pytest.mark.parametrize("dn", SIZES)
def test_pn_10_and_pn_16_are_drilled_alike_to_dn_150_only(dn: int) -> None:
    """Open PN 10 and PN 16 drilling tables: identical DN 50 to 150, different from DN 200."""
    expected = Outcome.BOLTS_UP if dn <= 150 else Outcome.DOES_NOT_MATE
    assert meeting(pn(10, dn), pn(16, dn)) is expected


@pytest.mark.parametrize("nps", NPS)
def test_class_125_and_class_250_never_mate(nps: float) -> None:
    assert meeting(iron_class(125, nps), iron_class(250, nps)) is Outcome.DOES_NOT_MATE


@pytest.mark.parametrize("rating", [10, 16, 25, 40])
@pytest.mark.parametrize("number", [125, 250])
def test_a_pn_flange_and_a_class_flange_never_mate(rating: int, number: int) -> None:
    """NPS 4 Class 125 has 8 bolts on 190.5 mm, DN 100 PN 25 has 8 on 190: near is not alike."""
    for dn, nps in zip((50, 80, 100, 150, 200, 250, 300), (2, 3, 4, 6, 8, 10, 12), strict=True):
        mating = mate(iron_class(number, nps), GREY, pn(rating, dn), None, COLD_K, FLANGES)
        assert mating.outcome is Outcome.DOES_NOT_MATE
        assert "near as some sizes come" in mating.sentences[0]


@pytest.mark.parametrize(("number", "other"), [(125, 150), (250, 300)])
def test_iron_and_steel_classes_are_drilled_alike(number: int, other: int) -> None:
    """Published flange chart: Class 125 is drilled as 150, 250 as 300."""
    for nps in NPS:
        steel = flange("ASME B16.5", f"Class {other}", f"NPS {nps:g}")
        mating = mate(iron_class(number, nps), GREY, steel, STEEL, COLD_K, FLANGES)
        assert mating.outcome is Outcome.WITH_CARE


def test_a_raised_face_can_crack_grey_iron():
    steel = flange("ASME B16.5", "Class 150", "NPS 8")
    mating = mate(iron_class(125, 8), GREY, steel, STEEL, COLD_K, FLANGES)
    assert "raised face can crack the iron flange" in mating.sentences[1]
    assert mating.certainty is Certainty.CONFIRMED_2ND
    other_way = mate(steel, STEEL, iron_class(125, 8), GREY, COLD_K, FLANGES)
    assert other_way.sentences[1:] == mating.sentences[1:]


def test_ductile_against_steel_needs_no_care():
    mating = mate(
        pn(16, 200), DUCTILE, flange("EN 1092-1", "PN 16", "DN 200"), STEEL, COLD_K, FLANGES
    )
    assert mating.outcome is Outcome.BOLTS_UP
    grey = mate(pn(16, 200), GREY, flange("EN 1092-1", "PN 16", "DN 200"), STEEL, COLD_K, FLANGES)
    assert grey.outcome is Outcome.WITH_CARE


def test_other_sizes_do_not_mate():
    assert meeting(pn(16, 200), pn(16, 250)) is Outcome.DOES_NOT_MATE


def test_a_joint_is_as_strong_as_its_weaker_flange():
    """ASME B16.24, 2.2: the rating of a joint is the lower of the two at that temperature."""
    joint = joint_rating(pn(16, 150), GREY, pn(10, 150), GREY, COLD_K, FLANGES)
    assert joint is not None
    assert joint.pressure_pa == pytest.approx(10e5)
    warm = joint_rating(
        iron_class(125, 8),
        GREY,
        flange("ASME B16.5", "Class 150", "NPS 8"),
        STEEL,
        celsius(150),
        FLANGES,
    )
    assert warm is not None
    assert warm.pressure_pa < 12e5 < 15.8e5, "the iron one governs"
    assert "GJL-250" in warm.sentence


def test_a_joint_of_an_unrated_flange_has_no_rating():
    assert joint_rating(pn(16, 150), METALS["C95800"], pn(16, 150), GREY, COLD_K, FLANGES) is None


def test_a_joint_to_an_unknown_metal_is_not_rated():
    assert mate(pn(16, 150), GREY, pn(16, 150), None, COLD_K, FLANGES).joint is None
