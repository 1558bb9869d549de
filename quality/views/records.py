"""Records of tests and measurements: entered, shown with their verdict, corrected, signed."""

from collections.abc import Mapping
from typing import Any

from django import forms
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from quality.actions import pressure_tests, seal_tests
from quality.actions.measurements import record_measurement
from quality.actions.performance_tests import record_performance_test
from quality.actions.pressure_tests import record_pressure_test
from quality.actions.records import KINDS, configuration_of, operation_for, sign_record
from quality.actions.seal_tests import record_seal_test
from quality.charts import performance_chart
from quality.documents import sheet_of
from quality.evidence import PERFORMANCE
from quality.forms import measurement, performance_test, pressure_test, seal_test
from quality.models import (
    InspectionPoint,
    Measurement,
    PerformanceTest,
    PressureTest,
    SealTest,
    SignedRecord,
)
from quality.queries.records import RecordView, record_view
from quality.tables import CORRECTED_HEADINGS, corrected_rows, judged_rows, read_table
from quality.views.answers import attempt, status_of
from works.drawing import draw, svg
from works.middleware import tell
from works.models import Site
from works.people import Group, may
from works.requests import signed_in


def _replaced(request: HttpRequest, model: type[SignedRecord]) -> SignedRecord | None:
    """The record that a correction replaces, named in the address."""
    number = request.GET.get("corrects", "")
    if not number:
        return None
    if not number.isdigit():
        raise Http404
    return get_object_or_404(model, pk=int(number))


def _kept(request: HttpRequest, made: SignedRecord) -> HttpResponse:
    view = record_view(made)
    tell(request, f"{view.title}: {view.word.lower()}. It is kept; sign it to freeze it.")
    return redirect(made)


@require_http_methods(["GET", "POST"])
def new_pressure_test(request: HttpRequest, operation_pk: int) -> HttpResponse:
    """Test pressure and steps, computed and shown; then what the gauges showed."""
    operation, plan = pressure_tests.plan_of_test(operation_pk)
    replaces = _replaced(request, PressureTest)
    initial: Mapping[str, Any] = {"tested_on": timezone.localdate()}
    if isinstance(replaces, PressureTest):
        initial = pressure_test.initial_of(replaces)
    form = pressure_test.PressureTestForm(
        request.POST or None, operation=operation, initial=dict(initial)
    )
    if request.method == "POST" and form.is_valid():
        said = form.cleaned_data
        made = attempt(
            form,
            lambda: record_pressure_test(
                operation_id=operation.pk,
                tested_on=said["tested_on"],
                gauges=form.gauges(),
                held_s=said["held"],
                leaks=form.leaks(),
                deformed=said["deformed"],
                water_temperature_k=said["water_temperature"],
                chloride_mg_kg=said["chloride"],
                note=said["note"],
                piece_id=said["piece"].pk if said["piece"] else None,
                replaces_id=replaces.pk if replaces else None,
                by=signed_in(request),
                at=timezone.now(),
            ),
        )
        if made is not None:
            return _kept(request, made)
    context = {
        "form": form,
        "operation": operation,
        "plan": plan,
        "minutes": plan.duration_s / 60,
        "steps": [
            {"pressure_pa": step.pressure_pa, "minutes": step.hold_s / 60, "look": step.look}
            for step in plan.steps
        ],
        "replaces": replaces,
    }
    return render(request, "quality/new_pressure_test.html", context, status=status_of(form))


@require_http_methods(["GET", "POST"])
def new_performance_test(request: HttpRequest, operation_pk: int) -> HttpResponse:
    """Guarantee, set-up and readings."""
    operation = operation_for(PERFORMANCE, operation_pk)
    replaces = _replaced(request, PerformanceTest)
    if isinstance(replaces, PerformanceTest):
        initial = performance_test.initial_of(replaces)
    else:
        initial = {
            "tested_on": timezone.localdate(),
            **performance_test.initial_for(configuration_of(operation)),
        }
    form = performance_test.PerformanceTestForm(request.POST or None, initial=initial)
    if request.method == "POST" and form.is_valid():
        said = form.cleaned_data
        made = attempt(
            form,
            lambda: record_performance_test(
                operation_id=operation.pk,
                tested_on=said["tested_on"],
                guarantee=form.guarantee(),
                set_up=form.set_up(),
                readings=form.readings(),
                typed_in=form.typed_in(),
                typed=form.typed(),
                instrument_ids=[instrument.pk for instrument in said["instruments"]],
                note=said["note"],
                replaces_id=replaces.pk if replaces else None,
                by=signed_in(request),
                at=timezone.now(),
            ),
        )
        if made is not None:
            return _kept(request, made)
    context = {"form": form, "operation": operation, "replaces": replaces}
    return render(request, "quality/new_performance_test.html", context, status=status_of(form))


@require_http_methods(["GET", "POST"])
def new_seal_test(request: HttpRequest, operation_pk: int) -> HttpResponse:
    """Refused for packing and before the performance test; else pressure, time and drops."""
    operation, required, performance = seal_tests.plan_of_test(operation_pk)
    replaces = _replaced(request, SealTest)
    initial: Mapping[str, Any] = {"tested_on": timezone.localdate()}
    if isinstance(replaces, SealTest):
        initial = seal_test.initial_of(replaces)
    form = seal_test.SealTestForm(request.POST or None, initial=dict(initial))
    if request.method == "POST" and form.is_valid():
        said = form.cleaned_data
        made = attempt(
            form,
            lambda: record_seal_test(
                operation_id=operation.pk,
                tested_on=said["tested_on"],
                instrument_id=said["gauge"].pk,
                start_pa=said["start"],
                end_pa=said["end"],
                held_s=said["held"],
                drops_per_min=form.drops(),
                note=said["note"],
                replaces_id=replaces.pk if replaces else None,
                by=signed_in(request),
                at=timezone.now(),
            ),
        )
        if made is not None:
            return _kept(request, made)
    context = {
        "form": form,
        "operation": operation,
        "required": required,
        "performance": performance,
        "replaces": replaces,
    }
    return render(request, "quality/new_seal_test.html", context, status=status_of(form))


@require_http_methods(["GET", "POST"])
def new_measurement(request: HttpRequest, point_pk: int) -> HttpResponse:
    """Measured values for a point of the plan."""
    point = get_object_or_404(
        InspectionPoint.objects.select_related("operation__route", "operation__unit__route"),
        pk=point_pk,
    )
    replaces = _replaced(request, Measurement)
    initial: Mapping[str, Any] = {"tested_on": timezone.localdate()}
    if isinstance(replaces, Measurement):
        initial = measurement.initial_of(replaces)
    form = measurement.MeasurementForm(
        request.POST or None, operation=point.operation, initial=dict(initial)
    )
    if request.method == "POST" and form.is_valid():
        said = form.cleaned_data
        made = attempt(
            form,
            lambda: record_measurement(
                operation_id=point.operation_id,
                kind=point.record_kind,
                tested_on=said["tested_on"],
                values=form.values(),
                instrument_ids=[instrument.pk for instrument in said["instruments"]],
                piece_id=said["piece"].pk if said["piece"] else None,
                note=said["note"],
                replaces_id=replaces.pk if replaces else None,
                by=signed_in(request),
                at=timezone.now(),
            ),
        )
        if made is not None:
            return _kept(request, made)
    context = {"form": form, "point": point, "operation": point.operation, "replaces": replaces}
    return render(request, "quality/new_measurement.html", context, status=status_of(form))


def _shown(
    request: HttpRequest, record: SignedRecord, page: str, correct_url: str, **more: Any
) -> HttpResponse:
    context = {
        "view": record_view(record),
        "record": record,
        "correct_url": correct_url,
        "may_sign": may(signed_in(request), Group.QUALITY_ENGINEER),
        **more,
    }
    return render(request, page, context)


@require_GET
def pressure_test_page(request: HttpRequest, pk: int) -> HttpResponse:
    record = get_object_or_404(
        PressureTest.objects.select_related("signed_by", "entered_by"), pk=pk
    )
    return _shown(
        request,
        record,
        "quality/pressure_test.html",
        reverse("quality:new_pressure_test", args=[record.operation_id]),
        **_minutes(record),
    )


@require_GET
def performance_test_page(request: HttpRequest, pk: int) -> HttpResponse:
    """Corrected table, curve with its cross, verdicts with their reasons."""
    record = get_object_or_404(
        PerformanceTest.objects.select_related("signed_by", "entered_by"), pk=pk
    )
    chart = performance_chart(
        title=f"Performance test of {record.tested_on}",
        guarantee=record.inputs["guarantee"],
        result=record.result,
    )
    headings, rows = read_table(record.inputs["readings"])
    return _shown(
        request,
        record,
        "quality/performance_test.html",
        reverse("quality:new_performance_test", args=[record.operation_id]),
        chart=svg(draw(chart)),
        judged=judged_rows(record.result["quantities"]),
        corrected=corrected_rows(record.result["points"]),
        corrected_headings=CORRECTED_HEADINGS,
        read_headings=headings,
        read_rows=rows,
    )


@require_GET
def seal_test_page(request: HttpRequest, pk: int) -> HttpResponse:
    record = get_object_or_404(SealTest.objects.select_related("signed_by", "entered_by"), pk=pk)
    return _shown(
        request,
        record,
        "quality/seal_test.html",
        reverse("quality:new_seal_test", args=[record.operation_id]),
        **_minutes(record),
    )


@require_GET
def measurement_page(request: HttpRequest, pk: int) -> HttpResponse:
    record = get_object_or_404(
        Measurement.objects.select_related("signed_by", "entered_by", "piece"), pk=pk
    )
    point = InspectionPoint.objects.filter(
        operation_id=record.operation_id, record_kind=record.kind
    ).first()
    correct_url = reverse("quality:new_measurement", args=[point.pk]) if point else ""
    return _shown(request, record, "quality/measurement.html", correct_url)


def _minutes(record: SignedRecord) -> dict[str, float]:
    """Time asked and held under pressure [min]."""
    return {
        "minutes_asked": record.result["required_s"] / 60,
        "minutes_held": record.inputs["record"]["held_s"] / 60,
    }


def _record(kind: str, pk: int) -> SignedRecord:
    if kind not in KINDS:
        raise Http404
    return get_object_or_404(KINDS[kind], pk=pk)


@require_POST
def sign(request: HttpRequest, kind: str, pk: int) -> HttpResponse:
    """Freeze a record; the points it proves are then to be released on their own pages."""
    record = _record(kind, pk)
    form = forms.Form(request.POST)
    form.is_valid()
    signed = attempt(
        form,
        lambda: sign_record(kind=kind, record_id=pk, by=signed_in(request), at=timezone.now()),
    )
    if signed is None:
        view: RecordView = record_view(record)
        context = {"view": view, "record": record, "refusal": form.non_field_errors()}
        return render(request, "quality/not_signed.html", context, status=409)
    tell(request, "Signed: the record never changes from now on.")
    return redirect(record)


@require_GET
def sheet(request: HttpRequest, kind: str, pk: int) -> HttpResponse:
    """The record's test sheet as PDF."""
    view = record_view(_record(kind, pk))
    response = HttpResponse(sheet_of(view, Site.current()), content_type="application/pdf")
    name = f"{view.title.lower().replace(' ', '-')}-{pk}.pdf"
    response["Content-Disposition"] = f'inline; filename="{name}"'
    return response
