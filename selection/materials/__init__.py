"""Materials: which metals, flanges and shaft seal a pump's service calls for, and why.

The liquid is a `Service`; the metals come from a list (`metals.csv`), and rules kept as data
(`rules/*.csv`, one a row, with source, date and certainty) are put to both: `evaluate` gives
`Verdict`s, sentences with figure and limit. Flanges are looked up in tables of standards, rated
against pressure and temperature, compared with the customer's pipe, and put to the casing
pattern: nothing to do, drill, thicken, or another pattern. The casing is rated warm, the box
pressure estimated, packing or seal and flush plan checked. `assess` does all of it for one
`MaterialChoice`; `suggest` offers a first one with its reasons. A warning stays open until a
named person gives a reason; pressure that is not contained no reason answers. Pressures are
gauge in pascal, temperatures in kelvin; tables arrive as arguments in `MaterialData`.
"""

from selection.materials.casings import (
    CasingResult,
    Pressures,
    contraction_remark,
    rate_casing,
    wall_remark,
)
from selection.materials.castings import (
    CRACK_TEST_HEAD_M,
    CrackTest,
    HeatTreatment,
    Method,
    crack_test,
    heat_treatment,
    penetrant_levels_apply,
)
from selection.materials.choice import (
    Assessment,
    ImpellerDuty,
    MaterialChoice,
    assess,
    chosen_metals,
)
from selection.materials.data import MaterialData, Preference, read_preferences, shipped
from selection.materials.errors import (
    BadFlange,
    BadQuantity,
    IncompleteData,
    MaterialsError,
    NoRating,
    NoStrength,
    UnknownMetal,
    WrongPart,
)
from selection.materials.flange_tables import (
    FlangeForm,
    FlangeTables,
    MatingNote,
    System,
    load_flange_tables,
)
from selection.materials.flanges import Known, Rating, allowable_pressure, derating, find, form_of
from selection.materials.joints import DISCHARGE, SUCTION, FlangeResult, judge_flange
from selection.materials.language import (
    OPERATORS,
    RULE_HEAD,
    Condition,
    Rule,
    allowed_placeholders,
    read_rules,
    rule_of,
)
from selection.materials.mating import Mating, Outcome, joint_rating, mate
from selection.materials.metals import (
    GROUPS,
    METAL_HEAD,
    Family,
    Metal,
    Metals,
    Part,
    hardness_gap_hb,
    load_metals,
    metal_in,
    metal_of,
    read_metals,
)
from selection.materials.nozzles import (
    CasingPattern,
    CasingRating,
    FlangeMade,
    Nozzle,
    NozzleWork,
    nozzle_work,
)
from selection.materials.properties import PROPERTIES, Property, Scope, Situation
from selection.materials.rules import ChosenMetals, evaluate, evaluate_part, load_rules
from selection.materials.sealing import (
    CLEAN_WATER,
    OWN_LIQUID,
    PACKING_PLANS,
    BoxPressure,
    Reason,
    SealNeeds,
    SealSettings,
    SealSuggestion,
    box_pressure,
    seal_test_pressure_pa,
    suggest_plan,
    suggest_sealing,
)
from selection.materials.sealing_checks import check_sealing
from selection.materials.service import Liquid, Service
from selection.materials.suggestion import Suggestion, Why, suggest, suggest_flange
from selection.materials.verdicts import Severity, Verdict, certainty_of, worst, worst_first
from selection.materials.walls import WallStrength, load_wall_strengths, strength_in_casting

__all__ = [
    "CLEAN_WATER",
    "CRACK_TEST_HEAD_M",
    "DISCHARGE",
    "GROUPS",
    "METAL_HEAD",
    "OPERATORS",
    "OWN_LIQUID",
    "PACKING_PLANS",
    "PROPERTIES",
    "RULE_HEAD",
    "SUCTION",
    "Assessment",
    "BadFlange",
    "BadQuantity",
    "BoxPressure",
    "CasingPattern",
    "CasingRating",
    "CasingResult",
    "ChosenMetals",
    "Condition",
    "CrackTest",
    "Family",
    "FlangeForm",
    "FlangeMade",
    "FlangeResult",
    "FlangeTables",
    "HeatTreatment",
    "ImpellerDuty",
    "IncompleteData",
    "Known",
    "Liquid",
    "MaterialChoice",
    "MaterialData",
    "MaterialsError",
    "Mating",
    "MatingNote",
    "Metal",
    "Metals",
    "Method",
    "NoRating",
    "NoStrength",
    "Nozzle",
    "NozzleWork",
    "Outcome",
    "Part",
    "Preference",
    "Pressures",
    "Property",
    "Rating",
    "Reason",
    "Rule",
    "Scope",
    "SealNeeds",
    "SealSettings",
    "SealSuggestion",
    "Service",
    "Severity",
    "Situation",
    "Suggestion",
    "System",
    "UnknownMetal",
    "Verdict",
    "WallStrength",
    "Why",
    "WrongPart",
    "allowable_pressure",
    "allowed_placeholders",
    "assess",
    "box_pressure",
    "certainty_of",
    "check_sealing",
    "chosen_metals",
    "contraction_remark",
    "crack_test",
    "derating",
    "evaluate",
    "evaluate_part",
    "find",
    "form_of",
    "hardness_gap_hb",
    "heat_treatment",
    "joint_rating",
    "judge_flange",
    "load_flange_tables",
    "load_metals",
    "load_rules",
    "load_wall_strengths",
    "mate",
    "metal_in",
    "metal_of",
    "nozzle_work",
    "penetrant_levels_apply",
    "rate_casing",
    "read_metals",
    "read_preferences",
    "read_rules",
    "rule_of",
    "seal_test_pressure_pa",
    "shipped",
    "strength_in_casting",
    "suggest",
    "suggest_flange",
    "suggest_plan",
    "suggest_sealing",
    "wall_remark",
    "worst",
    "worst_first",
]
