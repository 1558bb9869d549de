"""The selection desk: duties being worked on, their candidates, freezing a choice."""

from collections.abc import Iterable
from typing import Any

from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from selection import charts
from selection.actions import choices as choice_actions
from selection.actions import studies as study_actions
from selection.configuration import Rotation
from selection.desk import Search, cleaned_inputs, form_of, look, service_of
from selection.errors import DutyIncomplete
from selection.forms.duty import DutyForm
from selection.forms.outfit import PARTS, OutfitForm
from selection.forms.studies import CopyForm, NewStudyForm
from selection.hydraulics.candidates import Candidate
from selection.hydraulics.errors import HydraulicsError
from selection.materials.choice import MaterialChoice
from selection.materials.errors import MaterialsError
from selection.materials.sealing import PACKING_PLANS, SealNeeds
from selection.models import Impeller, Study
from selection.outfit import material_data, outfit, wanted_choice
from works.drawing import draw, svg
from works.errors import Refusal
from works.middleware import tell
from works.requests import signed_in

RANKED, REJECTED = 12, 12
REASON = "reason:"


@require_GET
def studies(request: HttpRequest) -> HttpResponse:
    """Every study, newest first."""
    rows = Study.objects.select_related("by").annotate(frozen=Count("choices"))[:200]
    return render(request, "selection/studies.html", {"studies": rows, "form": NewStudyForm()})


@require_POST
def new_study(request: HttpRequest) -> HttpResponse:
    """Start a study that belongs to no enquiry."""
    form = NewStudyForm(request.POST)
    if form.is_valid():
        study = study_actions.start_study(
            title=form.cleaned_data["title"], by=signed_in(request), at=timezone.now()
        )
        return redirect(study)
    context = {"studies": Study.objects.annotate(frozen=Count("choices"))[:200], "form": form}
    return render(request, "selection/studies.html", context, status=422)


@require_http_methods(["GET", "POST"])
def study(request: HttpRequest, pk: int) -> HttpResponse:
    """The desk: a duty on the left, what the catalogue answers on the right."""
    thing = get_object_or_404(Study, pk=pk)
    if request.method == "POST":
        return _compute(request, thing)
    form = form_of(thing) if thing.inputs else DutyForm(initial=_usual())
    return render(request, "selection/study.html", _desk(thing, form, show=bool(thing.inputs)))


def _usual() -> dict[str, Any]:
    """What a new study offers: fresh water at 20 °C, flooded suction, sea level."""
    return {
        "temperature": 293.15,
        "suction_level": 0.0,
        "suction_loss": 0.5,
        "altitude": 0.0,
        "pumps": 1,
        "standby": 0,
    }


def _compute(request: HttpRequest, thing: Study) -> HttpResponse:
    """Keep what was typed and answer it; an incomplete duty keeps nothing but loses nothing."""
    form = DutyForm(request.POST)
    if not form.is_valid():
        page = "selection/_answer.html" if request.htmx else "selection/study.html"  # type: ignore[attr-defined]
        return render(request, page, _desk(thing, form, show=False), status=422)
    inputs = {
        name: request.POST.getlist(name)
        for name in request.POST
        if name not in {"csrfmiddlewaretoken", "version"}
    }
    try:
        thing = study_actions.save_inputs(
            study_id=thing.pk,
            version=int(request.POST.get("version", thing.version)),
            inputs=inputs,
            pumps=form.cleaned_data["pumps"],
            by=signed_in(request),
            at=timezone.now(),
        )
    except Refusal as refusal:
        form.add_error(None, str(refusal))
        page = "selection/_answer.html" if request.htmx else "selection/study.html"  # type: ignore[attr-defined]
        return render(request, page, _desk(thing, form, show=False), status=refusal.status)
    if request.htmx:  # type: ignore[attr-defined]
        return render(request, "selection/_answer.html", _desk(thing, form, show=True))
    return redirect(thing)


def _desk(thing: Study, form: DutyForm, *, show: bool) -> dict[str, Any]:
    context: dict[str, Any] = {
        "study": thing,
        "form": form,
        "groups": _groups(form),
        "choices": thing.choices.select_related("size", "impeller", "by"),
        "copy_form": CopyForm(study=thing),
    }
    if not show or not form.is_valid():
        return context
    try:
        searched = look(form.cleaned_data)
    except (HydraulicsError, Refusal) as error:
        return context | {"trouble": str(error)}
    ranked, rejected = searched.found.ranked(RANKED), searched.found.rejected(REJECTED)
    names = _names([*ranked, *rejected])
    context |= {
        "searched": searched,
        "ranked": [(names[each.impeller.key], each) for each in ranked],
        "rejected": [(names[each.impeller.key], each) for each in rejected],
        "rejected_count": searched.found.rejected_count,
    }
    if ranked:
        context |= _chart(searched, ranked[0])
    return context


def _groups(form: DutyForm) -> list[tuple[str, list[Any]]]:
    """The form's fields under headings."""
    headings = {
        "Duty": ("flow", "head", "pumps", "standby", "purpose", "frequency", "poles"),
        "System": (
            "static_head",
            "static_low",
            "static_high",
            "system_by",
            "first_flow",
            "first_head",
            "second_flow",
            "second_head",
            "ageing",
        ),
        "Suction": (
            "suction_level",
            "suction_level_low",
            "suction_loss",
            "suction_pressure_high",
            "altitude",
        ),
        "Liquid": (
            "liquid",
            "temperature",
            "chloride_ppm",
            "ph",
            "sand_ppm",
            "free_chlorine_ppm",
            "hydrogen_sulphide",
            "ammonia",
            "stagnant",
            "drinking_water",
        ),
    }
    grouped = [(name, [form[field] for field in fields]) for name, fields in headings.items()]
    placed = {field for fields in headings.values() for field in fields}
    runs = [form[name] for name in form.fields if name not in placed]
    return [*grouped, ("Pipe runs", runs)]


def _names(candidates: Iterable[Candidate]) -> dict[str, str]:
    keys = {candidate.impeller.key for candidate in candidates}
    impellers = Impeller.objects.filter(pk__in=[int(key) for key in keys]).select_related("size")
    return {str(impeller.pk): str(impeller) for impeller in impellers}


def _chart(searched: Search, candidate: Candidate) -> dict[str, Any]:
    data = searched.chart(candidate)
    return {
        "charted": candidate,
        "chart": svg(draw(charts.drawing(candidate, data, searched.duty))),
        "chart_rows": charts.table(data),
    }


@require_http_methods(["GET", "POST"])
def candidate(request: HttpRequest, pk: int, key: str) -> HttpResponse:
    """One candidate with its set of metals, flanges and sealing; POST freezes it."""
    thing = get_object_or_404(Study, pk=pk)
    try:
        cleaned = cleaned_inputs(thing)
        searched = look(cleaned)
        found = searched.candidate(key)
    except (DutyIncomplete, HydraulicsError) as error:
        return render(
            request,
            "works/refused.html",
            {"sentence": str(error), "back": thing.get_absolute_url()},
            status=422,
        )
    impeller = get_object_or_404(
        Impeller.objects.select_related("size__pattern", "pattern"), pk=int(found.impeller.key)
    )
    service = service_of(cleaned)
    offered = outfit(found, searched.duty, service, impeller.size, SealNeeds(), None)
    asked = request.POST or request.GET
    form = _outfit_form(asked if "casing" in asked else None, offered.choice)
    fitted, trouble = offered, ""
    if form.is_bound and form.is_valid():
        try:
            wanted = wanted_choice(form.cleaned_data, impeller.size)
            fitted = outfit(found, searched.duty, service, impeller.size, form.needs(), wanted)
        except (MaterialsError, Refusal) as error:
            trouble = str(error)
    warnings = choice_actions.warnings_of(found, fitted)
    for warning in warnings:
        warning["reason"] = request.POST.get(f"{REASON}{warning['rule']}", "")
    if request.method == "POST" and form.is_valid() and not trouble:
        try:
            choice = choice_actions.freeze_choice(
                study_id=thing.pk,
                version=int(request.POST.get("version", thing.version)),
                candidate_key=key,
                picked=form.cleaned_data,
                needs=form.needs(),
                rotation=Rotation(form.cleaned_data["rotation"]),
                motor_special=form.cleaned_data["motor_special"],
                reasons={warning["rule"]: warning["reason"] for warning in warnings},
                by=signed_in(request),
                at=timezone.now(),
            )
        except (Refusal, MaterialsError) as error:
            trouble = str(error)
        else:
            tell(request, f"Choice {choice.number} is frozen.")
            return redirect(choice)
    context = {
        "study": thing,
        "candidate": found,
        "impeller": impeller,
        "form": form,
        "fitted": fitted,
        "warnings": warnings,
        "trouble": trouble,
        "reason": REASON,
        **_chart(searched, found),
    }
    status = 422 if request.method == "POST" else 200
    return render(request, "selection/candidate.html", context, status=status)


def _outfit_form(data: Any, suggested: MaterialChoice | None) -> OutfitForm:
    rows = material_data()
    plans = (*PACKING_PLANS, *(row.text("plan") for row in rows.seal_plans))
    initial: dict[str, Any] = {"rotation": Rotation.CLOCKWISE}
    if suggested is not None:
        initial |= {part: getattr(suggested, part) for part in PARTS}
        initial |= {
            "suction_flange": _words(suggested.suction_flange),
            "discharge_flange": _words(suggested.discharge_flange),
            "sealing": suggested.sealing,
            "flush_plan": suggested.flush_plan,
        }
    return OutfitForm(data, initial=initial, data_rows=rows, plans=plans)


def _words(flange: Any) -> str:
    return f"{flange.standard} {flange.rating}"


@require_POST
def copy(request: HttpRequest, pk: int) -> HttpResponse:
    """Copy another study's duty into this one, or this one into a new study."""
    thing = get_object_or_404(Study, pk=pk)
    form = CopyForm(request.POST, study=thing)
    if not form.is_valid():
        return redirect(thing)
    source = form.cleaned_data["source"]
    made = study_actions.copy_study(
        study_id=source.pk if source else thing.pk,
        into_id=thing.pk if source else None,
        by=signed_in(request),
        at=timezone.now(),
    )
    tell(request, f"Copied into {made}.")
    return redirect(made)
