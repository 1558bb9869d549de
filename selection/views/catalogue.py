"""The catalogue: casings with their impellers and tested curves; metals and their rules."""

from typing import Any

from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from selection import charts
from selection.actions import catalogue as deeds
from selection.forms.catalogue import CurveForm, ImpellerForm, SizeForm
from selection.hydraulics.errors import HydraulicsError
from selection.models import CurveTest, Impeller, PumpSize
from selection.outfit import material_data
from works.drawing import draw, svg
from works.errors import Refusal
from works.middleware import tell
from works.queries import history
from works.requests import signed_in


@require_GET
def catalogue(request: HttpRequest) -> HttpResponse:
    sizes = PumpSize.objects.select_related("pattern").prefetch_related("impellers__pattern")
    return render(request, "selection/catalogue.html", {"sizes": sizes})


@require_http_methods(["GET", "POST"])
def new_size(request: HttpRequest) -> HttpResponse:
    form = SizeForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            size = deeds.add_size(
                fields=form.fields_of_model(), by=signed_in(request), at=timezone.now()
            )
        except (ValidationError, Refusal) as error:
            _put(form, error)
        else:
            tell(request, f"Casing {size} is in the catalogue.")
            return redirect(size)
    return _form(request, form, "New casing")


@require_GET
def size(request: HttpRequest, pk: int) -> HttpResponse:
    thing = get_object_or_404(PumpSize.objects.select_related("pattern"), pk=pk)
    context = {
        "size": thing,
        "impellers": thing.impellers.select_related("pattern").prefetch_related("tests"),
        "events": history(thing, 30),
    }
    return render(request, "selection/size.html", context)


@require_http_methods(["GET", "POST"])
def new_impeller(request: HttpRequest) -> HttpResponse:
    form = ImpellerForm(request.POST or None, initial={"size": request.GET.get("size")})
    if request.method == "POST" and form.is_valid():
        try:
            made = deeds.add_impeller(
                fields=form.cleaned_data, by=signed_in(request), at=timezone.now()
            )
        except (ValidationError, Refusal) as error:
            _put(form, error)
        else:
            tell(request, f"Impeller {made} is in the catalogue: enter its tested curves now.")
            return redirect(made)
    return _form(request, form, "New impeller")


@require_http_methods(["GET", "POST"])
def impeller(request: HttpRequest, pk: int) -> HttpResponse:
    """An impeller with its curves; POST enters one more."""
    thing = get_object_or_404(Impeller.objects.select_related("size", "pattern"), pk=pk)
    form = CurveForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        said = form.cleaned_data
        try:
            test = deeds.add_curve(
                impeller_id=thing.pk,
                diameter_mm=said["diameter_mm"],
                speed_rpm=said["speed_rpm"],
                tested_on=said["tested_on"],
                source=said["source"],
                flow_m3s=form.rows.flow_m3s,
                head_m=form.rows.head_m,
                efficiency=form.rows.efficiency,
                npshr_m=form.rows.npshr_m,
                by=signed_in(request),
                at=timezone.now(),
            )
        except (ValidationError, Refusal, HydraulicsError) as error:
            _put(form, error)
        else:
            tell(request, f"The curve of {test} is entered.")
            return redirect(thing)
    tests = list(thing.tests.order_by("withdrawn", "-diameter_mm"))
    shown = [test for test in tests if not test.withdrawn]
    context = {
        "impeller": thing,
        "tests": tests,
        "chart": svg(draw(charts.tests_drawing(shown))) if shown else "",
        "form": form,
        "events": history(thing, 30),
    }
    status = 422 if form.is_bound and form.errors else 200
    return render(request, "selection/impeller.html", context, status=status)


@require_POST
def withdraw_curve(request: HttpRequest, pk: int) -> HttpResponse:
    test = get_object_or_404(CurveTest.objects.select_related("impeller__size"), pk=pk)
    deeds.withdraw_curve(test_id=pk, by=signed_in(request), at=timezone.now())
    tell(request, f"The curve of {test} is left out from now on.")
    return redirect(test.impeller)


@require_GET
def metals(request: HttpRequest) -> HttpResponse:
    """Metals and the rules by which they suit a liquid, each with its source."""
    data = material_data()
    context = {"metals": data.metals.values(), "rules": data.rules}
    return render(request, "selection/metals.html", context)


def _put(form: Any, error: Exception) -> None:
    if isinstance(error, ValidationError):
        form.add_error(None, error.messages)
    else:
        form.add_error(None, str(error))


def _form(request: HttpRequest, form: Any, title: str) -> HttpResponse:
    status = 422 if form.is_bound and form.errors else 200
    return render(request, "selection/form.html", {"form": form, "title": title}, status=status)
