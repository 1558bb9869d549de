"""Visits: planned, noticed, moved, and what came of them."""

from collections.abc import Callable

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from quality.actions import visits as deeds
from quality.forms.visits import AgreeForm, MoveForm, NoticeForm, OutcomeForm, VisitForm
from quality.models import InspectionPlan, Visit
from quality.queries.visits import VisitRow, past, upcoming, visit_rows
from quality.views.answers import attempt, not_shown, status_of
from works.middleware import tell
from works.requests import signed_in


@require_GET
def visits(request: HttpRequest) -> HttpResponse:
    today = timezone.localdate()
    context = {"upcoming": upcoming(today), "past": past(today)}
    return render(request, "quality/visits.html", context)


@require_http_methods(["GET", "POST"])
def new_visit(request: HttpRequest, plan_pk: int) -> HttpResponse:
    """Plan a visit to points of one plan."""
    plan = get_object_or_404(InspectionPlan.objects.select_related("route"), pk=plan_pk)
    form = VisitForm(request.POST or None, plan=plan)
    if request.method == "POST" and form.is_valid():
        said = form.cleaned_data
        visit = attempt(
            form,
            lambda: deeds.plan_visit(
                point_ids=[point.pk for point in said["points"]],
                party=said["party"],
                on=said["on"],
                inspector=said["inspector"],
                note=said["note"],
                by=signed_in(request),
                at=timezone.now(),
            ),
        )
        if visit is not None:
            tell(request, f"Visit on {visit.on}: give notice by {visit.notice_by_on}.")
            return redirect("quality:visit", pk=visit.pk)
    context = {"form": form, "plan": plan}
    return render(request, "quality/new_visit.html", context, status=status_of(form))


@require_GET
def visit(request: HttpRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(Visit, pk=pk)
    return _page(request, found, {})


@require_POST
def give_notice(request: HttpRequest, pk: int) -> HttpResponse:
    return _deed(
        request,
        pk,
        "notice",
        NoticeForm(request.POST),
        lambda said, by, at: deeds.give_notice(visit_id=pk, by=by, at=at, **said),
        "Notice is written down.",
    )


@require_POST
def agree(request: HttpRequest, pk: int) -> HttpResponse:
    return _deed(
        request,
        pk,
        "agree",
        AgreeForm(request.POST),
        lambda said, by, at: deeds.agree_visit(visit_id=pk, by=by, at=at, **said),
        "The visit is agreed.",
    )


@require_POST
def move(request: HttpRequest, pk: int) -> HttpResponse:
    return _deed(
        request,
        pk,
        "move",
        MoveForm(request.POST),
        lambda said, by, at: deeds.move_visit(visit_id=pk, by=by, at=at, **said),
        "The visit is moved.",
    )


@require_POST
def outcome(request: HttpRequest, pk: int) -> HttpResponse:
    """The inspector came, nobody came, or it was called off."""

    def tell_outcome(said: dict[str, str], by: object, at: object) -> object:
        same = {"visit_id": pk, "version": said["version"], "by": by, "at": at}
        if said["came"] == "yes":
            return deeds.visit_took_place(**same, note=said["note"])  # type: ignore[arg-type]
        if said["came"] == "no":
            return deeds.visit_was_missed(**same, note=said["note"])  # type: ignore[arg-type]
        return deeds.cancel_visit(**same, why=said["note"])  # type: ignore[arg-type]

    return _deed(
        request,
        pk,
        "outcome",
        OutcomeForm(request.POST),
        tell_outcome,
        "What came of the visit is written down.",
    )


def _deed(
    request: HttpRequest,
    pk: int,
    name: str,
    form: forms.Form,
    deed: Callable[..., object],
    done: str,
) -> HttpResponse:
    """One deed on a visit; a refusal stands on its form, beside the visit as it is now."""
    found = get_object_or_404(Visit, pk=pk)
    if form.is_valid():
        said = form.cleaned_data
        if attempt(form, lambda: deed(said, signed_in(request), timezone.now())) is not None:
            tell(request, done)
            return redirect("quality:visit", pk=pk)
    return _page(request, found, {name: form})


def _page(request: HttpRequest, found: Visit, bound: dict[str, forms.Form]) -> HttpResponse:
    row: VisitRow = visit_rows(Visit.objects.filter(pk=found.pk), timezone.localdate())[0]
    begin = {"version": found.version}
    shown: dict[str, forms.Form] = {
        "notice": NoticeForm(initial={**begin, "on": timezone.localdate()}, auto_id="notice_%s"),
        "agree": AgreeForm(initial={**begin, "inspector": found.inspector}, auto_id="agree_%s"),
        "move": MoveForm(initial=begin, auto_id="move_%s"),
        "outcome": OutcomeForm(initial=begin, auto_id="outcome_%s"),
        **bound,
    }
    context = {
        "visit": row,
        "points": found.points.select_related("operation__unit__route", "operation__route"),
        "is_over": found.is_over,
        "refusals": not_shown(bound, set() if found.is_over else shown),
        "forms": shown,
    }
    return render(request, "quality/visit.html", context, status=status_of(*bound.values()))
