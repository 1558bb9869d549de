"""Changes: put forward with what they touch, then accepted or refused."""

from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from orders.actions import changes as deeds
from orders.effects import Effect
from orders.errors import EffectMoved
from orders.forms.change import ChangeForm, RefuseForm
from orders.models import Change, Item
from orders.views.attempts import attempt
from works.errors import Refusal
from works.middleware import tell
from works.people import Group, may
from works.requests import signed_in


@require_http_methods(["GET", "POST"])
def new_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Put a change of an item forward; what it touches is shown next."""
    item = get_object_or_404(
        Item.objects.select_related("order__customer", "route", "choice", "study"),
        pk=pk,
        route__isnull=False,
    )
    form = ChangeForm(request.POST or None, item=item)
    status = 200
    if request.method == "POST":
        change, status = attempt(
            form,
            lambda: deeds.propose_change(
                item_id=pk,
                today=timezone.localdate(),
                by=signed_in(request),
                at=timezone.now(),
                **form.wanted(),
            ),
        )
        if change is not None:
            return redirect("orders:change", pk=change.pk)
    return render(request, "orders/new_change.html", {"form": form, "item": item}, status=status)


@require_GET
@never_cache
def change(request: HttpRequest, pk: int) -> HttpResponse:
    """A change with what it touches."""
    return _page(request, _change(pk))


@require_POST
def accept(request: HttpRequest, pk: int) -> HttpResponse:
    """Do what is shown."""
    found = _change(pk)
    try:
        deeds.accept_change(change_id=pk, by=signed_in(request), at=timezone.now())
    except EffectMoved as refusal:
        return _page(request, _change(pk), trouble=str(refusal), status=refusal.status)
    except Refusal as refusal:
        return _page(request, found, trouble=str(refusal), status=refusal.status)
    tell(request, f"{found} is accepted: item, route and inspection plan are revised.")
    return redirect(reverse("orders:order", args=[found.item.order.number]) + "#changes")


@require_POST
def refuse(request: HttpRequest, pk: int) -> HttpResponse:
    """Say no."""
    found = _change(pk)
    form = RefuseForm(request.POST)
    refused, status = attempt(
        form,
        lambda: deeds.refuse_change(
            change_id=pk, by=signed_in(request), at=timezone.now(), **form.cleaned_data
        ),
    )
    if refused is None:
        return _page(request, found, form=form, status=status)
    tell(request, f"{found} is refused.")
    return redirect(reverse("orders:order", args=[found.item.order.number]) + "#changes")


def _change(pk: int) -> Change:
    return get_object_or_404(
        Change.objects.select_related(
            "item__order__customer", "item__choice", "by", "decided_by", "choice__study"
        ),
        pk=pk,
    )


def _page(
    request: HttpRequest,
    found: Change,
    *,
    form: forms.Form | None = None,
    trouble: str = "",
    status: int = 200,
) -> HttpResponse:
    person = signed_in(request)
    is_open = found.state == Change.State.PROPOSED
    context: dict[str, Any] = {
        "change": found,
        "order": found.item.order,
        "effect": Effect.from_data(found.effect),
        "form": form or RefuseForm(),
        "trouble": trouble,
        "may_accept": is_open and may(person, Group.PLANNER),
        "may_refuse": is_open and may(person, Group.PLANNER, Group.APPLICATION_ENGINEER),
    }
    return render(request, "orders/change.html", context, status=status)
