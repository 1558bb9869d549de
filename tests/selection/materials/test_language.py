"""The language of a rule: what is understood, and what is refused with what would be right."""

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from selection.materials import (
    OPERATORS,
    PROPERTIES,
    RULE_HEAD,
    Liquid,
    Part,
    Rule,
    Severity,
    evaluate,
    read_rules,
    rule_of,
)
from tests.selection.materials.smallest import METALS, chosen, named, service
from works.standards import BadTable

GOOD = {
    **dict.fromkeys(RULE_HEAD, ""),
    "rule": "copper and chloride",
    "topic": "chloride",
    "part": "impeller | ring",
    "metals": "copper alloy",
    "liquids": "clean fresh water",
    "property": "chloride_ppm",
    "operator": ">",
    "threshold": "30",
    "verdict": "caution",
    "needs_reason": "yes",
    "text": "{metal} for the {part} in {liquid}: {value} over {limit}.",
    "source": "a book",
    "certainty": "memory",
    "date": "2026-11-25",
}


def read(**changed: str) -> Rule:
    return rule_of({**GOOD, **changed}, file="form", row=None, metals=METALS)


def test_a_row_is_understood_in_full():
    rule = read()
    assert rule.parts == (Part.IMPELLER, Part.RING)
    assert rule.liquids == (Liquid.CLEAN_FRESH,)
    assert rule.severity is Severity.CAUTION
    (condition,) = rule.conditions
    assert (condition.property.name, condition.operator, condition.threshold) == (
        "chloride_ppm",
        ">",
        30.0,
    )


def test_the_sentence_carries_figure_and_limit():
    verdict = named(evaluate([read()], service(), chosen()), "copper and chloride")
    assert verdict.sentence == (
        "CC480K for the impeller in clean fresh water: 40 mg/kg over 30 mg/kg."
    )
    assert (verdict.source, verdict.date, verdict.needs_reason) == ("a book", "2026-11-25", True)


@pytest.mark.parametrize(
    ("changed", "column", "wanted"),
    [
        ({"rule": ""}, "rule", "a few words"),
        ({"part": ""}, "part", "a few words"),
        ({"part": "volute"}, "part", "casing, impeller"),
        ({"metals": "bronce"}, "metals", "a family"),
        ({"liquids": "beer"}, "liquids", "sea water"),
        ({"property": "colour"}, "property", "chloride_ppm"),
        ({"property": "hardness_gap_hb"}, "property", "an other_part"),
        ({"operator": "=>"}, "operator", "one of >, >=, <, <="),
        ({"operator": ""}, "operator", "property, operator and threshold"),
        ({"threshold": "1,000"}, "threshold", "decimal mark"),
        ({"threshold": "nan"}, "threshold", "decimal mark"),
        ({"property": "ammonia"}, "operator", "yes or no"),
        ({"property": "ammonia", "operator": "is", "threshold": "maybe"}, "threshold", "yes or no"),
        ({"verdict": "forbidden"}, "verdict", "fits, caution, avoid, refuse"),
        ({"verdict": "fits"}, "needs_reason", "no"),
        ({"verdict": "avoid", "needs_reason": "no"}, "needs_reason", "not dismissed in silence"),
        ({"needs_reason": "perhaps"}, "needs_reason", "yes or no"),
        ({"text": "{metal.__class__}"}, "text", "placeholders of"),
        ({"text": "{other_metal}"}, "text", "placeholders of"),
        ({"text": "{and_value}"}, "text", "placeholders of"),
        ({"text": "open { brace"}, "text", r"as \{metal\}"),
        ({"certainty": "sure"}, "certainty", "confirmed-2nd"),
        ({"date": "25.11.2026"}, "date", "2026-11-25"),
        ({"source": ""}, "source", "a few words"),
        ({"other_metals": "iron"}, "other_metals", "other_part too"),
        ({"other_part": "casing | ring"}, "other_part", "one part"),
        (
            {
                "property": "",
                "operator": "",
                "threshold": "",
                "and_property": "ph",
                "and_operator": "<",
                "and_threshold": "6",
                "text": "x",
            },
            "and_property",
            "the first one first",
        ),
    ],
)
def test_a_bad_cell_is_refused_with_what_would_be_right(
    changed: dict[str, str], column: str, wanted: str
) -> None:
    with pytest.raises(BadTable, match=wanted) as caught:
        read(**changed)
    assert (caught.value.file, caught.value.column) == ("form", column)


def test_a_file_names_the_row():
    text = io.StringIO()
    writer = csv.DictWriter(text, RULE_HEAD)
    writer.writeheader()
    writer.writerow(GOOD)
    writer.writerow({**GOOD, "rule": "another", "operator": "?"})
    with pytest.raises(BadTable, match=r"corrosion\.csv, row 3, column operator"):
        read_rules(text.getvalue(), "corrosion.csv", METALS)


def test_a_sentence_cannot_reach_into_objects():
    """Placeholders are looked up in a list of words; nothing is formatted or evaluated."""
    for text in ("{metal!r}", "{0}", "{metal[0]}", "{service}", "{}"):
        with pytest.raises(BadTable):
            read(text=text)


@given(
    value=st.floats(0, 1000, allow_nan=False),
    limit=st.floats(0, 1000, allow_nan=False),
    operator=st.sampled_from(sorted(OPERATORS)),
)
def test_operators_mean_what_they_say(value: float, limit: float, operator: str) -> None:
    rule = read(operator=operator, threshold=repr(limit), part="impeller")
    spoke = bool(
        [v for v in evaluate([rule], service(chloride_ppm=value), chosen()) if v.rule == rule.rule]
    )
    expected = {
        ">": value > limit,
        ">=": value >= limit,
        "<": value < limit,
        "<=": value <= limit,
    }[operator]
    assert spoke is expected


@pytest.mark.parametrize("name", sorted(PROPERTIES))
def test_every_property_can_be_asked(name: str) -> None:
    prop = PROPERTIES[name]
    rule = read(
        part="ring",
        metals="",
        other_part="impeller neck",
        property=name,
        operator="is" if prop.flag else "<",
        threshold="no" if prop.flag else "100000",
        text="{part} {value}",
    )
    verdicts = evaluate([rule], service(), chosen(), tip_speed_m_s=30.0)
    if name in ("pren", "zinc_pct", "tip_speed_excess_m_s"):  # 420 states none of them
        assert named(verdicts, f"not stated: {name}").severity is Severity.CAUTION
    else:
        assert named(verdicts, rule.rule).sentence.startswith("ring ")
