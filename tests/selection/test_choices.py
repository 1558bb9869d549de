"""Freezing a choice at the desk: what is kept, what is refused, and that it never changes."""

from collections.abc import Mapping
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from selection.actions.choices import freeze_choice
from selection.configuration import Rotation
from selection.desk import cleaned_inputs, look
from selection.errors import (
    CandidateRejected,
    DutyIncomplete,
    EmptyCatalogue,
    NoSuchCandidate,
    WarningsUnanswered,
)
from selection.materials.sealing import SealNeeds
from selection.models import Choice, Study
from tests.factories.selection import ChoiceFactory, ImpellerFactory, StudyFactory, frozen
from tests.factories.works import PersonFactory
from works.errors import ChangedMeanwhile, NotAllowed
from works.people import Group

pytestmark = pytest.mark.django_db


def shape(value: Any) -> Any:
    """Names of a kept result, without its figures."""
    if isinstance(value, Mapping):
        return {name: shape(inner) for name, inner in value.items()}
    if isinstance(value, list) and value and isinstance(value[0], Mapping):
        return [shape(value[0])]
    return type(value).__name__ if isinstance(value, list) else None


def test_the_factorys_choice_is_shaped_like_one_that_the_desk_froze() -> None:
    real, made = frozen(), ChoiceFactory.create()
    real.refresh_from_db()
    assert shape(made.results) == shape(real.results)
    assert set(made.configuration) == set(real.configuration)
    assert made.as_configuration() != real.as_configuration()


class Answered(dict[str, str]):
    """A reason for whatever is asked."""

    def get(self, rule: str, default: Any = None) -> str:
        return "as agreed"


def best_of(study: Study) -> str:
    return look(cleaned_inputs(study)).found.ranked(1)[0].key


def freeze(study: Study, **changes: Any) -> Choice:
    """The best candidate frozen with every warning answered, unless something is changed."""
    said: dict[str, Any] = {
        "study_id": study.pk,
        "version": study.version,
        "candidate_key": changes.get("candidate_key") or best_of(study),
        "picked": None,
        "needs": SealNeeds(),
        "rotation": Rotation.CLOCKWISE,
        "motor_special": False,
        "reasons": Answered(),
        "by": PersonFactory.create(groups=[Group.APPLICATION_ENGINEER]),
        "at": timezone.now(),
    }
    return freeze_choice(**(said | changes))


@pytest.fixture
def study() -> Study:
    ImpellerFactory.create()
    return StudyFactory.create()


def test_a_frozen_choice_keeps_its_warnings_with_who_answered_them(study: Study) -> None:
    choice = freeze(study)
    assert choice.engine_version
    answered = [warning for warning in choice.warnings if warning["needs_reason"]]
    assert all(warning["reason"] == "as agreed" and warning["by"] for warning in answered)
    assert choice.configuration["test_pressure_pa"] == pytest.approx(
        1.5 * choice.configuration["working_pressure_max_pa"]  # common practice
    )


def test_the_database_refuses_to_change_a_frozen_choice(study: Study) -> None:
    choice = freeze(study)
    with pytest.raises(IntegrityError), transaction.atomic():
        Choice.objects.filter(pk=choice.pk).update(engine_version="another")
    with pytest.raises(IntegrityError), transaction.atomic():
        Choice.objects.filter(pk=choice.pk).delete()


def test_only_an_application_engineer_freezes(study: Study) -> None:
    with pytest.raises(NotAllowed):
        freeze(study, by=PersonFactory.create(groups=[Group.BUYER]))


def test_a_duty_changed_by_somebody_else_is_not_frozen(study: Study) -> None:
    with pytest.raises(ChangedMeanwhile):
        freeze(study, version=study.version + 1)


def test_a_candidate_that_is_not_there_is_refused(study: Study) -> None:
    with pytest.raises(NoSuchCandidate):
        freeze(study, candidate_key="999999@4")


def test_an_unanswered_warning_is_named(study: Study) -> None:
    study.inputs = {**study.inputs, "sand_ppm": ["400"], "liquid": ["raw river water"]}
    study.save(update_fields=["inputs"])
    with pytest.raises(WarningsUnanswered) as refusal:
        freeze(study, reasons={})
    assert refusal.value.rules


def test_a_candidate_that_a_check_rules_out_is_refused_with_its_sentence(study: Study) -> None:
    study.inputs = {**study.inputs, "purpose": ["fire"]}
    study.save(update_fields=["inputs"])
    searched = look(cleaned_inputs(study))
    assert not searched.found.ranked(1)
    with pytest.raises(CandidateRejected, match="fire"):
        freeze(study, candidate_key=searched.found.rejected(1)[0].key)


def test_an_incomplete_duty_names_what_is_missing(study: Study) -> None:
    key = look(cleaned_inputs(study)).found.ranked(1)[0].key
    study.inputs = {**study.inputs, "head": [""]}
    study.save(update_fields=["inputs"])
    with pytest.raises(DutyIncomplete, match="Head"):
        freeze_choice(
            study_id=study.pk,
            version=study.version,
            candidate_key=key,
            picked=None,
            needs=SealNeeds(),
            rotation=Rotation.CLOCKWISE,
            motor_special=False,
            reasons={},
            by=PersonFactory.create(groups=[Group.APPLICATION_ENGINEER]),
            at=timezone.now(),
        )


def test_an_empty_catalogue_says_so() -> None:
    with pytest.raises(EmptyCatalogue):
        look(cleaned_inputs(StudyFactory.create()))
