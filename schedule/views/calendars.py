"""Setting the works up: calendars, their weeks and the days that differ."""

from collections.abc import Callable
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from schedule.actions import calendars as actions
from schedule.forms import setup as forms
from schedule.forms.fields import PlainForm
from schedule.models import Calendar, CalendarDay
from schedule.queries.setup import calendar_view
from schedule.views.answers import form_page
from works.middleware import tell
from works.requests import signed_in

DEEDS = {
    "overtime": "Plan overtime",
    "close": "Close days",
    "holidays": "Enter public holidays",
    "week": "Change the week",
}


@require_GET
def calendars(request: HttpRequest) -> HttpResponse:
    rows = Calendar.objects.prefetch_related("shifts", "workcentre_set")
    return render(request, "schedule/calendars.html", {"calendars": rows})


@require_http_methods(["GET", "POST"])
def new_calendar(request: HttpRequest) -> HttpResponse:
    """A calendar with its week and its public holidays."""
    week = {"days_1": ["0", "1", "2", "3", "4"], "days_2": ["0", "1", "2", "3", "4"]}
    hours = {"starts_1": "08:00", "ends_1": "12:00", "starts_2": "13:00", "ends_2": "17:00"}
    form = forms.NewCalendarForm(
        request.POST or None, initial={**week, **hours, "keeps_public_holidays": True}
    )

    def do() -> object:
        said = form.cleaned_data
        return actions.add_calendar(
            name=said["name"],
            shifts=form.shifts(),
            country=said["country"],
            region=said["region"],
            keeps_public_holidays=said["keeps_public_holidays"],
            by=signed_in(request),
            at=timezone.now(),
        )

    return form_page(
        request,
        form,
        do,
        done="The calendar is added, with its public holidays.",
        to=reverse("schedule:calendars"),
        title="New calendar",
        lead="Breaks are the gaps between two stretches of hours.",
        submit="Add",
    )


@require_GET
def calendar(request: HttpRequest, pk: int) -> HttpResponse:
    """One calendar: its week and the days that differ."""
    shown = get_object_or_404(Calendar, pk=pk)
    return render(
        request,
        "schedule/calendar.html",
        {"calendar": shown, "view": calendar_view(shown, now=timezone.now())},
    )


@require_http_methods(["GET", "POST"])
def calendar_deed(request: HttpRequest, pk: int, deed: str) -> HttpResponse:
    """Overtime, closed days, public holidays, or another week."""
    shown = get_object_or_404(Calendar, pk=pk)
    if deed not in DEEDS:
        raise Http404(f"Nothing called {deed} is done to a calendar")
    form = _form(deed, shown, request.POST or None)
    return form_page(
        request,
        form,
        _doing(shown, form, request),
        done=f"{shown} is changed; forecasts follow in a moment.",
        to=reverse("schedule:calendar", args=[pk]),
        title=f"{DEEDS[deed]}: {shown}",
        submit=DEEDS[deed],
    )


def _form(deed: str, shown: Calendar, data: Any) -> PlainForm:
    year = timezone.localdate().year
    if deed == "overtime":
        return forms.OvertimeForm(data)
    if deed == "close":
        return forms.CloseDaysForm(data)
    if deed == "holidays":
        return forms.HolidaysForm(data, initial={"first_year": year, "last_year": year + 2})
    return forms.ShiftsForm(data, initial=forms.week_of(shown))


def _doing(shown: Calendar, form: PlainForm, request: HttpRequest) -> Callable[[], object]:
    """The action of a form, to be called once it is valid."""
    who: dict[str, Any] = {"by": signed_in(request), "at": timezone.now()}

    def do() -> object:
        said = form.cleaned_data
        if isinstance(form, forms.ShiftsForm):
            return actions.set_shifts(calendar_id=shown.pk, shifts=form.shifts(), **who)
        if isinstance(form, forms.HolidaysForm):
            years = range(said["first_year"], said["last_year"] + 1)
            return actions.seed_public_holidays(calendar=shown, years=years, **who)
        if isinstance(form, forms.OvertimeForm):
            return actions.add_overtime(calendar_id=shown.pk, **said, **who)
        return actions.close_days(calendar_id=shown.pk, **said, **who)

    return do


@require_POST
def take_day_away(request: HttpRequest, pk: int) -> HttpResponse:
    """Give a day back to the week."""
    day = get_object_or_404(CalendarDay, pk=pk)
    actions.take_day_away(day_id=pk, by=signed_in(request), at=timezone.now())
    tell(request, f"{day} is an ordinary day again; forecasts follow in a moment.")
    return redirect("schedule:calendar", pk=day.calendar_id)
