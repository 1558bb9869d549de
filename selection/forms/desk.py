"""How the desk's form is laid out: what every duty needs in sight, the rest folded away."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.forms import BoundField

from selection.forms.duty import MAIN_FITTINGS, RUNS, DutyForm


@dataclass(frozen=True)
class Block:
    """Fields that belong together.

    fields : always in sight
    folded : behind a summary
    summary : what is folded
    is_open : something folded is filled in or wrong
    needed : its fields are wanted whenever the block is used, though another way may be taken
    """

    title: str
    fields: tuple[BoundField, ...]
    folded: tuple[BoundField, ...] = ()
    summary: str = ""
    is_open: bool = False
    needed: bool = False


@dataclass(frozen=True)
class Layout:
    """The blocks in the order of the page."""

    duty: Block
    static: Block
    points: Block
    runs: tuple[Block, ...]
    suction: Block
    liquid: Block
    system_by: BoundField


_BLOCKS: dict[str, tuple[str, Sequence[str], Sequence[str], str]] = {
    "duty": (
        "Duty",
        ("flow", "head", "pumps", "standby", "purpose"),
        ("frequency", "poles"),
        "Mains and motors",
    ),
    "static": ("System", ("static_head",), ("static_low", "static_high"), "Range of levels"),
    "points": (
        "Two known points",
        ("second_flow", "second_head"),
        ("first_flow", "first_head", "ageing"),
        "Another first point, ageing",
    ),
    "suction": (
        "Suction",
        ("suction_level", "suction_loss", "altitude"),
        ("suction_level_low", "suction_pressure_high"),
        "Lowest level, highest pressure",
    ),
    "liquid": (
        "Liquid",
        ("liquid", "temperature"),
        (
            "chloride_ppm",
            "ph",
            "sand_ppm",
            "free_chlorine_ppm",
            "saturation_index",
            "hydrogen_sulphide",
            "ammonia",
            "stagnant",
            "drinking_water",
            "zinc_free",
        ),
        "Analysis, for the choice of metals",
    ),
}


def layout(form: DutyForm) -> Layout:
    """Lay a form out."""
    blocks = {key: _block(form, *row) for key, row in _BLOCKS.items()}
    runs = tuple(
        _block(
            form,
            f"Pipe run {run}",
            (f"length_{run}", f"bore_{run}", f"pipe_{run}", f"carries_{run}"),
            [f"fitting_{run}_{number}" for number in range(len(MAIN_FITTINGS))],
            "Fittings",
        )
        for run in RUNS
    )
    return Layout(
        duty=blocks["duty"],
        static=blocks["static"],
        points=blocks["points"],
        runs=runs,
        suction=blocks["suction"],
        liquid=blocks["liquid"],
        system_by=form["system_by"],
    )


def _block(
    form: DutyForm, title: str, fields: Sequence[str], folded: Sequence[str], summary: str
) -> Block:
    behind = tuple(form[name] for name in folded)
    return Block(
        title=title,
        fields=tuple(form[name] for name in fields),
        folded=behind,
        summary=summary,
        needed=title not in ("Duty", "System", "Suction", "Liquid"),
        is_open=any(field.errors or _is_filled(field) for field in behind),
    )


def _is_filled(field: BoundField) -> bool:
    """Something else stands in it than a new study offers."""
    return field.form.is_bound and field.field.has_changed(field.initial, field.data)
