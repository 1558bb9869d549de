"""The metals' list: read, checked, and in step with published data sheets."""

from pathlib import Path

import pytest

from selection.materials import (
    METAL_HEAD,
    Family,
    NoStrength,
    Part,
    UnknownMetal,
    hardness_gap_hb,
    load_wall_strengths,
    metal_in,
    metal_of,
    read_metals,
    strength_in_casting,
)
from selection.materials import metals as metals_module
from tests.selection.materials.smallest import METALS
from works.standards import BadTable, Certainty, load, matching

TEXT = (Path(metals_module.__file__).parent / "metals.csv").read_text(encoding="utf-8")
HEAD = TEXT.splitlines()[0]
GJL = next(line for line in TEXT.splitlines() if line.startswith("GJL-250,"))


@pytest.mark.parametrize(
    ("code", "tensile", "proof", "elongation"),
    [
        # EN 1561, EN 1563, ASTM B584, B148: published data sheets of the grades
        ("GJL-250", 250, None, None),
        ("GJS-400-15", 400, 250, 15),
        ("GJS-500-7", 500, 320, 7),
        ("C90500", 276, 124, 20),
        ("C83600", 207, 97, 20),
        ("C95800", 585, 240, 15),
        ("C95500", 620, 275, 6),
        # ASTM A743 and A890, from memory
        ("CA6NM", 755, 550, 15),
        ("CF8M", 485, 205, 30),
        ("CD4MCuN", 690, 485, 16),
    ],
)
def test_strengths_are_those_of_the_specification(
    code: str, tensile: float, proof: float | None, elongation: float | None
) -> None:
    metal = METALS[code]
    assert (metal.tensile_mpa, metal.proof_mpa, metal.elongation_pct) == (
        tensile,
        proof,
        elongation,
    )


def test_a_class_of_astm_iron_is_its_strength_in_ksi():
    """ASTM A48: class 35 is 35 ksi, class 40 is 40 ksi; 1 ksi = 6.894757 MPa."""
    assert METALS["A48-35"].tensile_mpa == pytest.approx(35 * 6.894757, abs=0.5)
    assert METALS["A48-40"].tensile_mpa == pytest.approx(40 * 6.894757, abs=0.5)


def test_every_metal_serves_a_part_and_castings_are_castable():
    for metal in METALS.values():
        assert metal.parts, metal.code
        if {Part.CASING, Part.IMPELLER} & set(metal.parts):
            assert metal.castable, metal.code


def test_every_flange_table_named_exists():
    tables = {row.text("metal") for row in load("asme_pressure_temperature")}
    for metal in METALS.values():
        assert not metal.flange_table or metal.flange_table in tables, metal.code


def test_every_flange_table_named_is_of_the_metals_own_family():
    for metal in METALS.values():
        for row in matching(load("asme_pressure_temperature"), metal=metal.flange_table):
            assert row.text("family") == metal.family, metal.code


def test_the_sure_difference_of_hardness_lies_between_the_ranges():
    """GJL-250 has 170 to 240 HB, tin bronze about 70, 420 hardened 350 to 500."""
    assert hardness_gap_hb(METALS["GJL-250"], METALS["CC480K"]) == 100
    assert hardness_gap_hb(METALS["CC480K"], METALS["GJL-250"]) == 100
    assert hardness_gap_hb(METALS["420-H"], METALS["CA6NM"]) == 65
    assert hardness_gap_hb(METALS["CA15"], METALS["CA6NM"]) == 0
    assert hardness_gap_hb(METALS["A48-35"], METALS["CC480K"]) is None


def test_a_metal_is_taken_in_by_code_family_and_group():
    nab = METALS["C95800"]
    assert nab.is_one_of(("C95800",))
    assert nab.is_one_of(("stainless", "aluminium bronze"))
    assert nab.is_one_of(("copper alloy",))
    assert not nab.is_one_of(("tin bronze", "iron"))
    assert not METALS["C86500"].is_one_of(("bronze",)), "manganese bronze is a brass"


def test_a_row_is_as_sure_as_what_is_asked_of_it():
    metal = METALS["GJL-250"]
    assert metal.certainty is Certainty.MEMORY
    assert metal.certainty_of("tensile_mpa", "hardness_low_hb") is Certainty.CONFIRMED_2ND
    assert metal.certainty_of("tensile_mpa", "density_kg_m3") is Certainty.MEMORY


@pytest.mark.parametrize(
    ("code", "wall", "strength"),
    [
        # EN 1561 anticipated values in the casting
        ("GJL-250", 20, 195),
        ("GJL-250", 40, 170),
        ("GJL-250", 80, 155),
        ("GJL-200", 30, (155 + 130) / 2),
    ],
)
def test_strength_falls_with_the_wall(code: str, wall: float, strength: float) -> None:
    found, certainty, _ = strength_in_casting(code, wall, load_wall_strengths())
    assert found == pytest.approx(strength)
    assert certainty is Certainty.CONFIRMED_2ND


@pytest.mark.parametrize(("code", "wall"), [("GJL-250", 19.9), ("GJL-250", 81), ("CF8M", 40)])
def test_strength_is_not_extrapolated(code: str, wall: float) -> None:
    with pytest.raises(NoStrength, match=f"{wall:g} mm"):
        strength_in_casting(code, wall, load_wall_strengths())


def test_an_unknown_code_is_refused_with_those_there_are():
    with pytest.raises(UnknownMetal, match="GJS-400-15"):
        metal_of("GG-25", METALS)


def test_zinc_free_bronzes_are_told_from_those_that_are_not():
    """C90500 has 1 to 3 % zinc (published): not zinc-free; CuSn10 at most 0.5 % (memory)."""
    assert METALS["C90500"].zinc_pct == 3
    assert METALS["CC480K"].zinc_pct == 0.5
    assert METALS["C86500"].family is Family.BRASS


@pytest.mark.parametrize(
    ("before", "after", "column", "wanted"),
    [
        (",grey iron,", ",pig iron,", "family", "one of grey iron"),
        ("casing | impeller | ring", "casing | volute", "parts", "casing, impeller"),
        (",250,", ",2500000,", "tensile_mpa", "from 50 to 2500"),
        (",250,", ",strong,", "tensile_mpa", "decimal mark"),
        (",170,240,", ",,240,", "hardness_low_hb", "both ends"),
        (",170,240,", ",240,170,", "hardness_high_hb", "not below"),
        (",yes,250", ",perhaps,250", "castable", "yes or no"),
        (",memory,", ",surely,", "certainty", "confirmed-2nd"),
        ("potential_mv=confirmed-2nd", "colour=confirmed-2nd", "column_certainty", "number column"),
        ("EN 1561", "", "spec", "a few words"),
    ],
)
def test_a_bad_row_is_refused_with_what_would_be_right(
    before: str, after: str, column: str, wanted: str
) -> None:
    bad = GJL.replace("EN 1561, ISO 185 JL/250", "EN 1561").replace('"EN 1561"', "EN 1561")
    assert before in bad
    with pytest.raises(BadTable, match=wanted) as caught:
        read_metals("\n".join([HEAD, bad.replace(before, after, 1)]), "upload.csv")
    assert (caught.value.file, caught.value.row, caught.value.column) == ("upload.csv", 2, column)


def test_a_metal_survives_the_way_through_a_form():
    for metal in METALS.values():
        cells = metal.as_cells()
        assert list(cells) == list(METAL_HEAD)
        assert metal_in(cells, file="form", row=None) == metal


def test_one_code_twice_is_refused():
    with pytest.raises(BadTable, match="'GJL-250' twice"):
        read_metals("\n".join([HEAD, GJL, GJL]), "upload.csv")
