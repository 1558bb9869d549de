"""Nonconformances: the list, one's page, and the deeds on it."""

from django import forms
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from quality.actions import nonconformances as deeds
from quality.forms.nonconformances import (
    AnswerForm,
    AskForm,
    CloseForm,
    DisposeForm,
    NonconformanceForm,
)
from quality.models import Concession, Nonconformance
from quality.queries.nonconformances import DefectView, nonconformance_list, nonconformance_view
from quality.views.answers import attempt, not_shown, status_of
from schedule.models import Operation
from works.middleware import tell
from works.people import Group, may
from works.queries import history
from works.requests import signed_in

SHOWN = ("open", "major", "all")


@require_GET
def nonconformances(request: HttpRequest) -> HttpResponse:
    shown = request.GET.get("show", "open")
    if shown not in SHOWN:
        shown = "open"
    rows = nonconformance_list(shown=shown, now=timezone.now())
    context = {"rows": rows, "shown": shown, "choices": SHOWN}
    return render(request, "quality/nonconformances.html", context)


@require_http_methods(["GET", "POST"])
def new_nonconformance(request: HttpRequest, operation_pk: int) -> HttpResponse:
    operation = get_object_or_404(
        Operation.objects.select_related("route", "unit__route"), pk=operation_pk
    )
    form = NonconformanceForm(request.POST or None, operation=operation)
    if request.method == "POST" and form.is_valid():
        said = form.cleaned_data
        made = attempt(
            form,
            lambda: deeds.open_nonconformance(
                operation_id=operation.pk,
                defect=said["defect"],
                severity=said["severity"],
                cause=said["cause"],
                piece_id=said["piece"].pk if said["piece"] else None,
                by=signed_in(request),
                at=timezone.now(),
            ),
        )
        if made is not None:
            tell(request, f"{made.number} is open: tag the part and set it apart.")
            return redirect(made)
    context = {"form": form, "operation": operation}
    return render(request, "quality/new_nonconformance.html", context, status=status_of(form))


@require_GET
def nonconformance(request: HttpRequest, pk: int) -> HttpResponse:
    return _page(request, _view(pk), {})


@require_POST
def ask(request: HttpRequest, pk: int) -> HttpResponse:
    """Put a proposal to the buyer."""
    form = AskForm(request.POST, auto_id="ask_%s")
    if form.is_valid():
        said = form.cleaned_data
        made = attempt(
            form,
            lambda: deeds.ask_buyer(
                nonconformance_id=pk, by=signed_in(request), at=timezone.now(), **said
            ),
        )
        if made is not None:
            tell(request, "The question stands; the buyer sees it on its own page.")
            return redirect("quality:nonconformance", pk=pk)
    return _page(request, _view(pk), {"ask": form})


@require_POST
def answer(request: HttpRequest, pk: int) -> HttpResponse:
    """Copy the buyer's written answer to an open question."""
    concession = get_object_or_404(Concession.objects.select_related("nonconformance"), pk=pk)
    form = AnswerForm(request.POST, auto_id="answer_%s")
    if form.is_valid():
        said = form.cleaned_data
        made = attempt(
            form,
            lambda: deeds.answer_concession(
                concession_id=pk, recorded_by=signed_in(request), at=timezone.now(), **said
            ),
        )
        if made is not None:
            tell(request, f"The buyer's answer is kept: {made.answer}.")
            return redirect(concession.nonconformance)
    return _page(request, _view(concession.nonconformance_id), {"answer": form})


@require_POST
def dispose(request: HttpRequest, pk: int) -> HttpResponse:
    """Decide what becomes of the part."""
    view = _view(pk)
    form = DisposeForm(request.POST, found=view.found, auto_id="dispose_%s")
    if form.is_valid():
        said = form.cleaned_data
        made = attempt(
            form,
            lambda: deeds.dispose(
                nonconformance_id=pk,
                version=said["version"],
                disposition=said["disposition"],
                note=said["note"],
                replacement_id=said["replacement"].pk if said["replacement"] else None,
                again=[operation.pk for operation in said["again"]],
                by=signed_in(request),
                at=timezone.now(),
            ),
        )
        if made is not None:
            tell(request, f"{made.number}: {made.disposition}.")
            return redirect(made)
    return _page(request, _view(pk), {"dispose": form})


@require_POST
def close(request: HttpRequest, pk: int) -> HttpResponse:
    form = CloseForm(request.POST, auto_id="close_%s")
    if form.is_valid():
        made = attempt(
            form,
            lambda: deeds.close(
                nonconformance_id=pk,
                version=form.cleaned_data["version"],
                by=signed_in(request),
                at=timezone.now(),
            ),
        )
        if made is not None:
            tell(request, f"{made.number} is closed.")
            return redirect(made)
    return _page(request, _view(pk), {"close": form})


def _view(pk: int) -> DefectView:
    try:
        return nonconformance_view(pk, timezone.now())
    except Nonconformance.DoesNotExist as error:
        raise Http404 from error


def _page(request: HttpRequest, view: DefectView, bound: dict[str, forms.Form]) -> HttpResponse:
    found = view.found
    begin = {"version": found.version}
    shown: dict[str, forms.Form] = {
        "ask": AskForm(auto_id="ask_%s"),
        "answer": AnswerForm(auto_id="answer_%s"),
        "dispose": DisposeForm(initial=begin, found=found, auto_id="dispose_%s"),
        "close": CloseForm(initial=begin, auto_id="close_%s"),
        **bound,
    }
    offered = {"dispose", "answer" if view.open_question else "ask"}
    if view.is_decided:
        offered.add("close")
    context = {
        "view": view,
        "forms": shown,
        "refusals": not_shown(bound, set() if found.closed_at else offered),
        "may_decide": may(signed_in(request), Group.QUALITY_ENGINEER),
        "events": history(found, 30),
    }
    status = status_of(*bound.values())
    return render(request, "quality/nonconformance.html", context, status=status)


__all__ = [
    "answer",
    "ask",
    "close",
    "dispose",
    "new_nonconformance",
    "nonconformance",
    "nonconformances",
]
