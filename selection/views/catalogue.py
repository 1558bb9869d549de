"""The catalogue: casings with their impellers and tested curves; metals and their rules."""

from django import forms
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from selection import charts
from selection.actions import catalogue as deeds
from selection.errors import BadCurve
from selection.forms.catalogue import CurveForm, ImpellerForm, SizeForm
from selection.hydraulics.errors import HydraulicsError
from selection.models import CurveTest, Impeller, PumpSize
from selection.outfit import material_data
from selection.queries.catalogue import trim_law_words
from selection.views.studies import number_of
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
            put(form, error)
        else:
            tell(request, f"Casing {size} is in the catalogue: enter its impellers now.")
            return redirect(size)
    return _form(request, form, "New casing")


@require_http_methods(["GET", "POST"])
def change_size(request: HttpRequest, pk: int) -> HttpResponse:
    thing = get_object_or_404(PumpSize, pk=pk)
    form = SizeForm(request.POST or None, of=thing)
    if request.method == "POST" and form.is_valid():
        try:
            deeds.change_size(
                size_id=pk,
                version=number_of(request.POST.get("version")),
                fields=form.fields_of_model(),
                by=signed_in(request),
                at=timezone.now(),
            )
        except (ValidationError, Refusal) as error:
            put(form, error)
        else:
            tell(request, f"Casing {thing} is changed.")
            return redirect(thing)
    return _form(request, form, f"Change casing {thing}", of=thing)


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
            put(form, error)
        else:
            tell(request, f"Impeller {made} is in the catalogue: enter its tested curves now.")
            return redirect(made)
    return _form(request, form, "New impeller")


@require_http_methods(["GET", "POST"])
def change_impeller(request: HttpRequest, pk: int) -> HttpResponse:
    thing = get_object_or_404(Impeller.objects.select_related("size", "pattern"), pk=pk)
    form = ImpellerForm(request.POST or None, of=thing)
    if request.method == "POST" and form.is_valid():
        try:
            deeds.change_impeller(
                impeller_id=pk,
                version=number_of(request.POST.get("version")),
                fields=form.cleaned_data,
                by=signed_in(request),
                at=timezone.now(),
            )
        except (ValidationError, Refusal) as error:
            put(form, error)
        else:
            tell(request, f"Impeller {thing} is changed.")
            return redirect(thing)
    return _form(request, form, f"Change impeller {thing}", of=thing)


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
            put(form, error)
        else:
            tell(request, f"The curve of {test} is entered.")
            return redirect(thing)
    tests = list(thing.tests.order_by("withdrawn", "-diameter_mm", "id"))
    shown = [test for test in tests if not test.withdrawn]
    context = {
        "impeller": thing,
        "tests": tests,
        "chart": svg(draw(charts.tests_drawing(shown))) if shown else "",
        "form": form,
        "law": trim_law_words(thing, shown),
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


@require_POST
def bring_curve_back(request: HttpRequest, pk: int) -> HttpResponse:
    test = get_object_or_404(CurveTest.objects.select_related("impeller__size"), pk=pk)
    try:
        deeds.bring_curve_back(test_id=pk, by=signed_in(request), at=timezone.now())
    except BadCurve as refusal:
        tell(request, str(refusal), wrong=True)
    else:
        tell(request, f"The curve of {test} is used again.")
    return redirect(test.impeller)


@require_GET
def metals(request: HttpRequest) -> HttpResponse:
    """Metals and the rules by which they suit a liquid, each with its source."""
    data = material_data()
    context = {"metals": data.metals.values(), "rules": data.rules}
    return render(request, "selection/metals.html", context)


def put(form: forms.Form, error: Exception) -> None:
    """Show a refusal on the form, at its field where that is known, so that nothing is lost."""
    if not isinstance(error, ValidationError):
        form.add_error(None, str(error))
        return
    by_field = getattr(error, "error_dict", {None: error.error_list})
    for name, errors in by_field.items():
        form.add_error(name if name in form.fields else None, errors)


def _form(
    request: HttpRequest, form: forms.Form, title: str, of: PumpSize | Impeller | None = None
) -> HttpResponse:
    status = 422 if form.is_bound and form.errors else 200
    context = {"form": form, "title": title, "of": of}
    return render(request, "selection/form.html", context, status=status)
