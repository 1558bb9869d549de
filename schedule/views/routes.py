"""One route's page, its card, and the planner's deeds on it."""

from collections.abc import Callable
from typing import Any

from django import forms
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from schedule.actions import routes as actions
from schedule.documents import route_card_pdf
from schedule.forms.fields import today
from schedule.forms.routes import (
    DrawingForm,
    DueForm,
    MaybeReasonForm,
    ReasonForm,
    SerialsForm,
    ShipForm,
    UnitDueForm,
    WeightForm,
)
from schedule.models import Operation, Route, Unit
from schedule.queries.bars import drawing, route_bars
from schedule.queries.cards import route_card
from schedule.queries.routes import route_view
from schedule.views.answers import form_page
from works.drawing import TimeRuler, draw, svg
from works.formats import instant
from works.people import Group, may
from works.requests import signed_in

State = Route.State


@require_GET
def route(request: HttpRequest, pk: int) -> HttpResponse:
    """The network as tables, its dates and holds, what binds, and who reported what."""
    now = timezone.now()
    shown = get_object_or_404(Route.objects.select_related("template"), pk=pk)
    bar = route_bars([pk], now=now)[pk]
    model = drawing(bar, title=shown.label, first=bar.first, last=bar.last, now=now, width=900.0)
    ruler = TimeRuler(first=model.first, last=model.last, now=now, width=model.width)
    context = {
        "view": route_view(shown, now=now),
        "route": shown,
        "bar": bar,
        "ruler": svg(draw(ruler)),
        "svg": svg(draw(model)),
        "deeds": _deeds(shown) if may(signed_in(request), Group.PLANNER) else [],
    }
    return render(request, "schedule/route.html", context)


def _deeds(shown: Route) -> list[tuple[str, str]]:
    """What the planner may do where the route stands."""
    by_state: dict[str, tuple[str, ...]] = {
        State.DRAFT: ("release", "due", "weight", "serials", "drawing", "hold", "cancel"),
        State.RELEASED: ("ship", "due", "weight", "serials", "drawing", "hold", "cancel"),
        State.ON_HOLD: ("resume", "due", "weight", "serials", "cancel"),
        State.SHIPPED: (),
        State.CANCELLED: (),
    }
    return [(deed, DEEDS[deed]) for deed in by_state[State(shown.state)]]


DEEDS = {
    "release": "Release to the floor",
    "hold": "Put on hold",
    "resume": "Let it go on",
    "cancel": "Cancel",
    "due": "Move ship-by",
    "weight": "Weight",
    "serials": "Serial numbers",
    "drawing": "Issue a drawing",
    "ship": "Ship units",
}


@require_http_methods(["GET", "POST"])
def deed(request: HttpRequest, pk: int, deed: str) -> HttpResponse:
    """One deed on a route, as a page with its form."""
    shown = get_object_or_404(Route, pk=pk)
    if deed not in DEEDS:
        raise Http404(f"Nothing called {deed} is done to a route")
    units = list(shown.units.filter(dropped_in=None))
    form = _form(deed, shown, units, request.POST or None)
    return form_page(
        request,
        form,
        _doing(deed, shown, form, request),
        done=f"{shown}: {DEEDS[deed].lower()}, done.",
        to=reverse("schedule:route", args=[pk]),
        title=f"{DEEDS[deed]}: {shown}",
        lead=f"Ship by {shown.due_on}",
        submit=DEEDS[deed],
        danger=deed in {"hold", "cancel"},
    )


def _form(deed: str, shown: Route, units: list[Unit], data: Any) -> forms.Form:
    if deed in {"hold", "cancel"}:
        return ReasonForm(data)
    if deed == "due":
        return DueForm(data, initial={"due_on": shown.due_on})
    if deed == "weight":
        return WeightForm(data, initial={"weight": shown.weight})
    if deed == "serials":
        return SerialsForm(data, units=units)
    if deed == "ship":
        return ShipForm(data, units=units, initial={"on": today()})
    if deed == "drawing":
        return DrawingForm(data, codes=_codes(shown))
    return MaybeReasonForm(data)


def _codes(shown: Route) -> list[tuple[str, str]]:
    rows = Operation.objects.open().filter(route=shown).order_by("position")
    return list(dict.fromkeys(rows.values_list("code", "name")))


def _doing(deed: str, shown: Route, form: forms.Form, request: HttpRequest) -> Callable[[], object]:
    """The action of a deed, to be called once the form is valid."""
    who: dict[str, Any] = {"route_id": shown.pk, "by": signed_in(request), "at": timezone.now()}

    def do() -> object:
        said = form.cleaned_data
        if isinstance(form, SerialsForm):
            return actions.give_serials(serials=form.serials(), **who)
        if isinstance(form, DrawingForm):
            codes = said["codes"] or None
            return actions.issue_drawing(
                drawing=said["drawing"], revision=said["revision"], codes=codes, **who
            )
        if isinstance(form, ShipForm):
            return actions.ship_units(units=[int(n) for n in said["units"]], on=said["on"], **who)
        if deed == "release":
            return actions.release_route(**who)
        simple: dict[str, Callable[..., object]] = {
            "hold": actions.hold_route,
            "resume": actions.resume_route,
            "cancel": actions.cancel_route,
            "due": actions.set_due,
            "weight": actions.set_weight,
        }
        return simple[deed](**said, **who)

    return do


@require_http_methods(["GET", "POST"])
def unit_due(request: HttpRequest, pk: int) -> HttpResponse:
    """A unit's own ship-by, for a part delivery."""
    unit = get_object_or_404(Unit.objects.select_related("route"), pk=pk)
    form = UnitDueForm(request.POST or None, initial={"due_on": unit.due_on})

    def do() -> object:
        return actions.set_unit_due(
            unit_id=pk, due_on=form.cleaned_data["due_on"], by=signed_in(request), at=timezone.now()
        )

    return form_page(
        request,
        form,
        do,
        done=f"{unit.route} unit {unit.number} has its ship-by.",
        to=reverse("schedule:route", args=[unit.route_id]),
        title=f"Ship-by of unit {unit.number}",
        lead=f"{unit.route}, which ships by {unit.route.due_on}",
        submit="Save",
    )


@require_GET
def card(request: HttpRequest, pk: int) -> HttpResponse:
    """A unit's route card as PDF."""
    unit = get_object_or_404(Unit.objects.select_related("route"), pk=pk, dropped_in=None)
    printed = f"{instant(timezone.now())}, {signed_in(request)}"
    content = route_card_pdf(route_card(unit), printed=printed)
    name = f"route-card-{unit.route_id}-{unit.number}-rev{unit.route.revision}.pdf"
    return HttpResponse(
        content,
        content_type="application/pdf",
        headers={"Content-Disposition": f'inline; filename="{name}"'},
    )
