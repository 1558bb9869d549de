"""Deeds at the desk: starting, saving and copying a study."""

from collections.abc import Mapping
from datetime import datetime

from django.db import transaction

from selection.facts import Fact
from selection.models import Study
from works.errors import ChangedMeanwhile
from works.events import record
from works.models import Person
from works.people import Group, require


@transaction.atomic
def start_study(*, title: str, by: Person, at: datetime) -> Study:
    """Start a duty that belongs to no enquiry yet.

    raises : NotAllowed
    """
    require(by, Group.APPLICATION_ENGINEER, deed="start a study")
    study = Study(title=title.strip(), by=by, at=at)
    study.full_clean()
    study.save()
    record(Fact.STUDY_STARTED, about=study, by=by, at=at)
    return study


@transaction.atomic
def save_inputs(
    *,
    study_id: int,
    version: int,
    inputs: Mapping[str, list[str]],
    pumps: int,
    by: Person,
    at: datetime,
) -> Study:
    """Keep the desk's form as typed.

    raises : NotAllowed; ChangedMeanwhile
    """
    require(by, Group.APPLICATION_ENGINEER, deed="change a duty")
    study = Study.objects.select_for_update().get(pk=study_id)
    if study.version != version:
        raise ChangedMeanwhile(what=f"The duty of {study}")
    if study.inputs != inputs:
        before = {
            name: values for name, values in study.inputs.items() if values != inputs.get(name)
        }
        after = {
            name: values for name, values in inputs.items() if study.inputs.get(name) != values
        }
        study.inputs, study.pumps, study.version = dict(inputs), pumps, study.version + 1
        study.save(update_fields=["inputs", "pumps", "version"])
        record(Fact.STUDY_SAVED, about=study, by=by, at=at, before=before, after=after)
    return study


@transaction.atomic
def copy_study(
    *, study_id: int, into_id: int | None, version: int | None = None, by: Person, at: datetime
) -> Study:
    """Copy a study's duty into a new one, or into another that is being worked on.

    version : of the study that is copied into, as it was when the person looked
    raises : NotAllowed; ChangedMeanwhile
    """
    require(by, Group.APPLICATION_ENGINEER, deed="copy a study")
    source = Study.objects.get(pk=study_id)
    before: Mapping[str, list[str]] = {}
    if into_id is None:
        study = Study(title=f"Copy of {source.title}"[:120], by=by, at=at)
    else:
        study = Study.objects.select_for_update().get(pk=into_id)
        if study.version != version:
            raise ChangedMeanwhile(what=f"The duty of {study}")
        before, study.version = study.inputs, study.version + 1
    study.inputs, study.pumps, study.copied_from = source.inputs, source.pumps, source
    study.save()
    record(
        Fact.STUDY_COPIED,
        about=study,
        by=by,
        at=at,
        before=before,
        after={"from": source.title, **source.inputs},
    )
    return study
