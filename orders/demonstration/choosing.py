"""Choosing each order's pump at the desk, as an application engineer would."""

from datetime import datetime

from orders.demonstration.orders import Row
from selection.actions.choices import freeze_choice, warnings_of
from selection.actions.studies import save_inputs
from selection.configuration import Rotation
from selection.desk import cleaned_inputs, look, service_of
from selection.hydraulics.candidates import Candidate
from selection.materials.sealing import SealNeeds
from selection.models import Choice, Impeller, Purpose, Study
from selection.outfit import outfit
from works.models import Person

REASON = "agreed with the customer; stands in the operating instructions"


class NothingSuits(Exception):
    """The demonstration's catalogue has no pump for one of its own orders."""


def inputs_of(row: Row) -> dict[str, list[str]]:
    """The desk's form as typed."""
    flow, head, static = row.duty
    purpose = Purpose.FIRE if row.special == "fire" else Purpose.WATER
    typed = {
        "flow": f"{flow:g}",
        "flow_unit": "m3h",
        "head": f"{head:g}",
        "head_unit": "m",
        "pumps": str(row.running),
        "standby": "0",
        "purpose": purpose.value,
        "frequency": "50",
        "liquid": row.liquid,
        "temperature": f"{row.celsius:g}",
        "temperature_unit": "c",
        "suction_level": "2" if row.celsius < 60 else "6",
        "suction_level_unit": "m",
        "suction_loss": "0.4",
        "suction_loss_unit": "m",
        "altitude": "30",
        "altitude_unit": "m",
        "static_head": f"{static:g}",
        "static_head_unit": "m",
        "system_by": "points",
        "second_flow": f"{flow * row.running:g}",
        "second_flow_unit": "m3h",
        "second_head": f"{head:g}",
        "second_head_unit": "m",
        "ageing": "1",
    }
    return {name: [said] for name, said in typed.items()} | {"poles": ["4", "6"]}


def choose(study: Study, row: Row, *, by: Person, at: datetime) -> Choice:
    """Fill the desk, pick the best candidate of the row's casing, answer the warnings, freeze.

    raises : NothingSuits
    """
    study = save_inputs(
        study_id=study.pk,
        version=study.version,
        inputs=inputs_of(row),
        pumps=row.running,
        by=by,
        at=at,
    )
    cleaned = cleaned_inputs(study)
    searched = look(cleaned)
    candidate = _best(searched.found.ranked(), row)
    impeller = Impeller.objects.select_related("size__pattern", "pattern").get(
        pk=int(candidate.impeller.key)
    )
    needs = SealNeeds(unattended=row.unattended)
    fitted = outfit(candidate, searched.duty, service_of(cleaned), impeller.size, needs, None)
    return freeze_choice(
        study_id=study.pk,
        version=study.version,
        candidate_key=candidate.key,
        picked=None,
        needs=needs,
        rotation=Rotation.CLOCKWISE if study.pk % 3 else Rotation.COUNTER_CLOCKWISE,
        motor_special=row.special == "special motor",
        reasons={
            warning["rule"]: REASON
            for warning in warnings_of(candidate, fitted)
            if warning["needs_reason"]
        },
        by=by,
        at=at,
    )


def _best(ranked: tuple[Candidate, ...], row: Row) -> Candidate:
    of_casing = [each for each in ranked if each.impeller.casing == row.casing]
    if not (of_casing or ranked):
        raise NothingSuits(f"{row.project}: no candidate for {row.duty}")
    return (of_casing or list(ranked))[0]
