"""Setting the works up: work centres, lanes, templates."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from schedule.actions import lanes as lane_actions
from schedule.actions import templates as template_actions
from schedule.actions import work_centres as centre_actions
from schedule.forms import setup as forms
from schedule.models import Calendar, Lane, RouteTemplate, WorkCentre
from schedule.queries.setup import template_rows
from schedule.views.answers import form_page
from works.middleware import tell
from works.requests import signed_in


@require_GET
def work_centres(request: HttpRequest) -> HttpResponse:
    context = {
        "centres": WorkCentre.objects.select_related("calendar"),
        "calendars": Calendar.objects.exists(),
    }
    return render(request, "schedule/work_centres.html", context)


@require_http_methods(["GET", "POST"])
def new_work_centre(request: HttpRequest) -> HttpResponse:
    form = forms.NewWorkCentreForm(request.POST or None)

    def do() -> object:
        said = dict(form.cleaned_data)
        said["calendar_id"] = said.pop("calendar").pk
        return centre_actions.add_work_centre(by=signed_in(request), at=timezone.now(), **said)

    return form_page(
        request,
        form,
        do,
        done="The work centre is added.",
        to=reverse("schedule:work_centres"),
        title="New work centre",
        submit="Add",
    )


@require_http_methods(["GET", "POST"])
def standard_work_centres(request: HttpRequest) -> HttpResponse:
    """Those that the house's templates name."""
    form = forms.StandardCentresForm(request.POST or None)

    def do() -> object:
        return centre_actions.load_standard_work_centres(
            calendar_id=form.cleaned_data["calendar"].pk, by=signed_in(request), at=timezone.now()
        )

    return form_page(
        request,
        form,
        do,
        done="The usual work centres are there: put their places and calendars right.",
        to=reverse("schedule:work_centres"),
        title="Add the usual work centres",
        lead="Those that the house's route templates name and that are not there yet.",
        submit="Add them",
    )


@require_http_methods(["GET", "POST"])
def work_centre(request: HttpRequest, code: str) -> HttpResponse:
    """Change a work centre."""
    shown = get_object_or_404(WorkCentre, code=code)
    names = ("name", "area", "places", "firm_days", "caution", "closed_for_good")
    initial = {name: getattr(shown, name) for name in names} | {"calendar": shown.calendar_id}
    form = forms.ChangeWorkCentreForm(request.POST or None, initial=initial)

    def do() -> object:
        said = dict(form.cleaned_data)
        said["calendar_id"] = said.pop("calendar").pk
        return centre_actions.change_work_centre(
            code=code, by=signed_in(request), at=timezone.now(), **said
        )

    return form_page(
        request,
        form,
        do,
        done=f"{shown} is changed; forecasts follow in a moment.",
        to=reverse("schedule:work_centres"),
        title=f"Work centre {shown.code}",
        submit="Save",
    )


@require_GET
def lanes(request: HttpRequest) -> HttpResponse:
    return render(request, "schedule/lanes.html", {"lanes": Lane.objects.all()})


@require_http_methods(["GET", "POST"])
def new_lane(request: HttpRequest) -> HttpResponse:
    form = forms.LaneForm(request.POST or None)

    def do() -> object:
        return lane_actions.add_lane(
            by=signed_in(request), at=timezone.now(), **form.fields_of_lane()
        )

    return form_page(
        request,
        form,
        do,
        done="The lane is added.",
        to=reverse("schedule:lanes"),
        title="New freight lane",
        lead="From the works' door to the site.",
        submit="Add",
    )


@require_http_methods(["GET", "POST"])
def lane(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a lane."""
    shown = get_object_or_404(Lane, pk=pk)
    initial = {name: getattr(shown, name) for name in lane_actions.FIELDS}
    initial["sailing_weekdays"] = [str(day) for day in shown.sailing_weekdays]
    form = forms.ChangeLaneForm(request.POST or None, initial=initial)

    def do() -> object:
        return lane_actions.change_lane(
            lane_id=pk, by=signed_in(request), at=timezone.now(), **form.fields_of_lane()
        )

    return form_page(
        request,
        form,
        do,
        done=f"{shown} is changed. Orders keep their ship-by until somebody moves it.",
        to=reverse("schedule:lanes"),
        title=f"Freight lane {shown}",
        submit="Save",
    )


@require_GET
def templates(request: HttpRequest) -> HttpResponse:
    rows = RouteTemplate.objects.prefetch_related("rows").order_by("name")
    return render(request, "schedule/templates.html", {"templates": rows})


@require_POST
def standard_templates(request: HttpRequest) -> HttpResponse:
    """The house's own templates."""
    new = template_actions.load_standard_templates(by=signed_in(request), at=timezone.now())
    names = ", ".join(str(template) for template in new) or "none was missing"
    tell(request, f"Templates added: {names}.")
    return redirect("schedule:templates")


@require_http_methods(["GET", "POST"])
def new_template(request: HttpRequest) -> HttpResponse:
    """A template from a table, or another version of one."""
    form = forms.TemplateTableForm(request.POST or None)

    def do() -> object:
        said = form.cleaned_data
        return template_actions.load_template(
            name=said["name"],
            kind=said["kind"],
            text=said["table"],
            by=signed_in(request),
            at=timezone.now(),
        )

    return form_page(
        request,
        form,
        do,
        done="The template is loaded.",
        to=reverse("schedule:templates"),
        title="Template from a table",
        lead="One of the same name is replaced; routes in work keep what they were grown with.",
        submit="Load",
    )


@require_GET
def template(request: HttpRequest, pk: int) -> HttpResponse:
    """A template's rows."""
    shown = get_object_or_404(RouteTemplate, pk=pk)
    context = {"template": shown, "rows": template_rows(shown)}
    return render(request, "schedule/template.html", context)


@require_http_methods(["GET", "POST"])
def template_row(request: HttpRequest, pk: int, code: str) -> HttpResponse:
    """Change one row of a template."""
    shown = get_object_or_404(RouteTemplate, pk=pk)
    row = get_object_or_404(shown.rows, code=code)
    form = forms.TemplateRowForm(request.POST or None, row=row.row)

    def do() -> object:
        return template_actions.edit_row(
            template_id=pk, code=code, by=signed_in(request), at=timezone.now(), **form.changes()
        )

    return form_page(
        request,
        form,
        do,
        done=f"{code} is changed, for routes grown from now on.",
        to=reverse("schedule:template", args=[pk]),
        title=f"{code} in the template {shown}",
        submit="Save",
    )
