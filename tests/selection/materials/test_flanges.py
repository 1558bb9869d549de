"""Flanges: found, drilled, rated warm; nothing between classes, nothing beyond the table."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from selection.configuration import Flange
from selection.materials import BadFlange, NoRating, allowable_pressure, find
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

GREY, DUCTILE = METALS["GJL-250"], METALS["GJS-400-15"]
PSI = 6894.757


@pytest.mark.parametrize(
    ("degrees", "bar"),
    [
        # A valve maker's published table: PN 16, GJL-250, flanges to EN 1092-2
        (-10, 16.0),
        (20, 16.0),
        (120, 16.0),
        (150, 14.4),
        (180, 13.4),
        (200, 12.8),
        (230, 11.8),
        (250, 11.2),
        (300, 9.6),
        # half way between two rows
        (135, (16.0 + 14.4) / 2),
        (275, (11.2 + 9.6) / 2),
    ],
)
def test_grey_iron_pn_16_warm(degrees: float, bar: float) -> None:
    rating = allowable_pressure(pn(16, 250), GREY, celsius(degrees), FLANGES)
    assert rating.pressure_pa == pytest.approx(bar * 1e5, abs=0.05e5)
    assert rating.certainty is Certainty.CONFIRMED_2ND


@pytest.mark.parametrize(
    ("degrees", "bar"),
    [(120, 16.0), (150, 15.5), (200, 14.7), (250, 13.9), (300, 12.8), (350, 11.2), (325, 12.0)],
)
def test_ductile_iron_pn_16_warm(degrees: float, bar: float) -> None:
    """The same published table, GJS-400."""
    rating = allowable_pressure(pn(16, 250), DUCTILE, celsius(degrees), FLANGES)
    assert rating.pressure_pa == pytest.approx(bar * 1e5, abs=0.05e5)


@pytest.mark.parametrize(
    ("number", "nps", "fahrenheit", "psi"),
    [
        # ASME B16.1 Tables 1 and 2, A126 class B, from memory; ambient ends published
        (125, 8, 150, 200),
        (125, 8, 200, 190),
        (125, 8, 450, 125),
        (125, 16, 150, 150),
        (125, 16, 350, 100),
        (250, 8, 150, 500),
        (250, 8, 400, 290),
        (250, 20, 400, 200),
        # linear between temperatures: B16.1-2020, 3.1
        (125, 8, 175, 195),
        (125, 8, 237.5, 177.5),
        (125, 8, 425, 132.5),
        (250, 20, 162.5, 295),
    ],
)
def test_class_flanges_in_grey_iron(number: int, nps: float, fahrenheit: float, psi: float) -> None:
    rating = allowable_pressure(
        iron_class(number, nps), GREY, celsius((fahrenheit - 32) / 1.8), FLANGES
    )
    assert rating.pressure_pa == pytest.approx(psi * PSI, rel=1e-9)


def test_class_125_bears_125_psi_of_steam_at_353_fahrenheit():
    """A class is its steam rating: 125 psi at 353 °F, published. NPS 14 to 24 has 100 psi there,
    NPS 1 to 12 more than 125."""
    rating = allowable_pressure(iron_class(125, 12), GREY, celsius((353 - 32) / 1.8), FLANGES)
    assert rating.pressure_pa > 125 * PSI


@pytest.mark.parametrize(
    ("degrees", "bar"),
    [(38, 19.6), (50, 19.2), (100, 17.7), (150, 15.8), (75, (19.2 + 17.7) / 2)],
)
def test_carbon_steel_class_150(degrees: float, bar: float) -> None:
    """ASME B16.5-2009, group 1.1: published page."""
    rating = allowable_pressure(
        flange("ASME B16.5", "Class 150", "NPS 8"), METALS["WCB"], celsius(degrees), FLANGES
    )
    assert rating.pressure_pa == pytest.approx(bar * 1e5)


@pytest.mark.parametrize(
    ("wanted", "metal", "degrees"),
    [
        (pn(16, 250), "GJL-250", -10.5),
        (pn(16, 250), "GJL-250", 300.1),
        (iron_class(125, 8), "GJL-250", 233.0),
        (iron_class(125, 16), "GJL-250", 178.0),
        (flange("EN 1092-3", "PN 16", "DN 250"), "C95800", 51.0),
        (flange("ASME B16.24", "Class 150", "NPS 8"), "C95800", 66.0),
    ],
)
def test_nothing_is_rated_beyond_its_table(wanted: Flange, metal: str, degrees: float) -> None:
    with pytest.raises(NoRating, match="lies outside it"):
        allowable_pressure(wanted, METALS[metal], celsius(degrees), FLANGES)


@pytest.mark.parametrize(
    ("wanted", "metal", "right"),
    [
        (iron_class(125, 8), "GJS-400-15", "ASME B16.42 Class 150"),
        (iron_class(250, 8), "CF8M", "ASME B16.5 Class 300"),
        (pn(16, 250), "C95800", "EN 1092-3 PN 16"),
        (pn(16, 250), "WCB", "EN 1092-1 PN 16"),
        (flange("ASME B16.5", "Class 150", "NPS 8"), "GJL-250", "ASME B16.1 Class 125"),
    ],
)
def test_a_standard_for_another_metal_names_the_right_one(
    wanted: Flange, metal: str, right: str
) -> None:
    with pytest.raises(NoRating, match=right):
        allowable_pressure(wanted, METALS[metal], COLD_K, FLANGES)


def test_a_metal_without_rating_table_is_not_rated():
    with pytest.raises(NoRating, match="no rating table for CF8"):
        allowable_pressure(
            flange("ASME B16.5", "Class 150", "NPS 8"), METALS["CF8"], COLD_K, FLANGES
        )


@given(st.floats(-10, 300), st.floats(-10, 300), st.sampled_from([10, 16, 25, 40]))
def test_a_warmer_flange_is_never_stronger(one: float, other: float, rating: int) -> None:
    cool, warm = sorted((one, other))
    pressures = [
        allowable_pressure(pn(rating, 200), GREY, celsius(t), FLANGES).pressure_pa
        for t in (cool, warm)
    ]
    assert pressures[0] >= pressures[1]
    assert pressures[0] <= rating * 1e5


def test_a_larger_class_is_never_weaker():
    for degrees in (20, 66, 100, 150, 170):
        values = [
            allowable_pressure(iron_class(number, 8), GREY, celsius(degrees), FLANGES).pressure_pa
            for number in (125, 250)
        ]
        assert all(a < b for a, b in pairwise(values))


# -- found or refused --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("standard", "rating", "nominal", "shown"),
    [
        ("EN 1092-2", "PN16", "dn 250", "EN 1092-2 PN 16 DN 250"),
        ("EN  1092-2", "pn 16", "DN250", "EN 1092-2 PN 16 DN 250"),
        ("ASME B16.1", "class125", "nps 2.5", "ASME B16.1 Class 125 NPS 2.5"),
        ("ASME B16.1", "Class 125", "DN 250", "ASME B16.1 Class 125 DN 250"),
    ],
)
def test_spaces_and_case_do_not_matter(
    standard: str, rating: str, nominal: str, shown: str
) -> None:
    assert str(find(flange(standard, rating, nominal), FLANGES).flange) == shown


def test_a_class_flange_is_found_by_either_size():
    by_dn = find(flange("ASME B16.1", "Class 125", "DN 250"), FLANGES)
    by_nps = find(iron_class(125, 10), FLANGES)
    assert by_dn.drilling == by_nps.drilling
    assert (by_nps.dn, by_dn.nps) == (250, 10)


@pytest.mark.parametrize(
    ("standard", "rating", "nominal", "right"),
    [
        ("BS 10", "Table E", "DN 250", "one of EN 1092-2"),
        ("EN 1092-2", "Class 125", "DN 250", "PN 10, PN 16, PN 25, PN 40"),
        ("EN 1092-2", "PN 20", "DN 250", "PN 10, PN 16, PN 25, PN 40"),
        ("ASME B16.1", "Class 150", "NPS 10", "Class 125, Class 250"),
        ("EN 1092-2", "PN 16", "DN 260", "DN of 50, 65"),
        ("EN 1092-2", "PN 16", "NPS 10", "DN of 50, 65"),
        ("ASME B16.1", "Class 125", "NPS 11", "NPS of 2, 2.5, 3"),
        ("EN 1092-2", "PN 16", "250", "'DN 250' or 'NPS 10'"),
        ("", "", "", "one of EN 1092-2"),
    ],
)
def test_an_unknown_flange_is_refused_with_what_would_be_right(
    standard: str, rating: str, nominal: str, right: str
) -> None:
    with pytest.raises(BadFlange, match=right):
        find(flange(standard, rating, nominal), FLANGES)
