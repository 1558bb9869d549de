"""The buyer's pages: the due list and one part."""

from collections.abc import Callable

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from schedule.actions import bought_outs as actions
from schedule.forms.buying import ArriveForm, OrderPartForm, PromiseForm
from schedule.forms.fields import today
from schedule.models import BoughtOut
from schedule.queries.bought_outs import bought_out_list
from schedule.views.answers import form_page
from works.requests import signed_in


@require_GET
def bought_outs(request: HttpRequest) -> HttpResponse:
    """What must be on the floor when, most urgent first."""
    arrived = request.GET.get("arrived") == "1"
    parts = bought_out_list(now=timezone.now(), arrived=arrived)
    context = {
        "parts": parts,
        "arrived": arrived,
        "late": sum(1 for part in parts if part.look in {"late", "overdue"}),
    }
    return render(request, "schedule/bought_outs.html", context)


@require_http_methods(["GET", "POST"])
def order(request: HttpRequest, pk: int) -> HttpResponse:
    """Order a part."""
    part = _part(pk)
    form = OrderPartForm(request.POST or None, initial={"ordered_on": today()})
    return _page(request, part, form, actions.order_part, "Order", "is ordered")


@require_http_methods(["GET", "POST"])
def promise(request: HttpRequest, pk: int) -> HttpResponse:
    """Note what the supplier promises."""
    part = _part(pk)
    form = PromiseForm(request.POST or None, initial={"promised_on": part.promised_on})
    return _page(request, part, form, actions.promise, "Note the promise", "has its promise")


@require_http_methods(["GET", "POST"])
def arrive(request: HttpRequest, pk: int) -> HttpResponse:
    """Book an arrival; goods inward follows."""
    part = _part(pk)
    form = ArriveForm(request.POST or None, initial={"arrived_on": today()})
    done = "is here; goods inward follows"
    return _page(request, part, form, actions.arrive, "Book the arrival", done)


def _part(pk: int) -> BoughtOut:
    return get_object_or_404(BoughtOut.objects.select_related("operation__route"), pk=pk)


def _page(
    request: HttpRequest,
    part: BoughtOut,
    form: forms.Form,
    deed: Callable[..., object],
    submit: str,
    done: str,
) -> HttpResponse:
    def do() -> object:
        who = {"by": signed_in(request), "at": timezone.now()}
        return deed(bought_out_id=part.pk, **who, **form.cleaned_data)

    return form_page(
        request,
        form,
        do,
        done=f"{part.item} {done}.",
        to=reverse("schedule:bought_outs"),
        title=f"{submit}: {part.item}",
        lead=str(part.operation.route),
        submit=submit,
    )
