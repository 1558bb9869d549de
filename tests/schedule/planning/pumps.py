"""A pump as chosen, for the planning tests; invented."""

from selection.configuration import Configuration, Flange, PatternWork, Rotation, Sealing


def configuration(**options: object) -> Configuration:
    """A single-stage pump with packing, nothing special about it."""
    flange = Flange(standard="EN 1092-2", rating="PN 16", nominal="DN 250")
    values: dict[str, object] = {
        "size": "TB 250-400",
        "casing_pattern": "P-1001",
        "impeller_pattern": "P-1101",
        "casing_pattern_work": PatternWork.NONE,
        "impeller_pattern_work": PatternWork.NONE,
        "casing_metal": "EN-GJL-250",
        "impeller_metal": "CC480K",
        "ring_metal": "CC493K",
        "shaft_metal": "1.4021",
        "sleeve_metal": "1.4021",
        "casing_heat_treated": False,
        "crack_test": False,
        "impeller_diameter_mm": 390.0,
        "speed_rpm": 1485.0,
        "rotation": Rotation.CLOCKWISE,
        "duty_flow_m3s": 0.15,
        "duty_head_m": 62.0,
        "efficiency": 0.86,
        "npshr_m": 4.2,
        "shutoff_head_m": 75.0,
        "motor_rating_w": 132_000.0,
        "motor_poles": 4,
        "motor_special": False,
        "suction_flange": flange,
        "discharge_flange": flange,
        "sealing": Sealing.PACKING,
        "flush_plan": "",
        "suction_pressure_max_pa": 100e3,
        "working_pressure_max_pa": 850e3,
        "test_pressure_pa": 1_275e3,
        "box_pressure_max_pa": 150e3,
        "seal_static_limit_pa": None,
        "casing_mass_kg": 900.0,
        "impeller_mass_kg": 60.0,
        "pump_mass_kg": 1_400.0,
        **options,
    }
    return Configuration(**values)
