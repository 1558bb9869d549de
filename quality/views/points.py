"""A point's page: what it asks, what was found, release, and proceeding at risk."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from quality.actions.holds import proceed_at_risk, release
from quality.evidence import HYDROSTATIC, PERFORMANCE, SEAL, TESTS
from quality.forms.holds import AtRiskForm, ReleaseForm
from quality.models import InspectionPoint
from quality.queries.points import PointView, point_view
from quality.queries.records import records_of
from quality.views.answers import attempt, not_shown, status_of
from works.middleware import tell
from works.people import Group, may
from works.requests import signed_in

NEW_RECORD = {
    HYDROSTATIC: ("quality:new_pressure_test", "Record the pressure test"),
    PERFORMANCE: ("quality:new_performance_test", "Record the performance test"),
    SEAL: ("quality:new_seal_test", "Record the seal leakage test"),
}


def _view(pk: int) -> PointView:
    try:
        return point_view(pk)
    except InspectionPoint.DoesNotExist as error:
        raise Http404 from error


@require_GET
def point(request: HttpRequest, pk: int) -> HttpResponse:
    view = _view(pk)
    return _page(request, view, ReleaseForm(parties=view.row.parties), AtRiskForm())


@require_POST
def release_point(request: HttpRequest, pk: int) -> HttpResponse:
    view = _view(pk)
    form = ReleaseForm(request.POST, parties=view.row.parties)
    if form.is_valid():
        done = attempt(
            form,
            lambda: release(
                point_id=pk, by=signed_in(request), at=timezone.now(), **form.cleaned_data
            ),
        )
        if done is not None:
            tell(request, f"{done.party.capitalize()}: {done.kind}. It is written down for good.")
            return redirect(view.point)
    return _page(request, view, form, AtRiskForm())


@require_POST
def pass_point(request: HttpRequest, pk: int) -> HttpResponse:
    """Let work go on past the hold at risk, with scope and limit."""
    view = _view(pk)
    form = AtRiskForm(request.POST)
    if form.is_valid():
        done = attempt(
            form,
            lambda: proceed_at_risk(
                point_id=pk, by=signed_in(request), at=timezone.now(), **form.cleaned_data
            ),
        )
        if done is not None:
            tell(request, "Work may go on at risk, within the scope and limit you gave.")
            return redirect(view.point)
    return _page(request, view, ReleaseForm(parties=view.row.parties), form)


def _page(
    request: HttpRequest, view: PointView, release_form: ReleaseForm, risk_form: AtRiskForm
) -> HttpResponse:
    point = view.point
    kind = point.record_kind
    new_url, new_label = "", ""
    if kind in NEW_RECORD:
        name, new_label = NEW_RECORD[kind]
        new_url = reverse(name, args=[point.operation_id])
    elif kind.startswith("measured") or kind == "crack test":
        new_url = reverse("quality:new_measurement", args=[point.pk])
        new_label = "Record measured values"
    offered = {"release"} if view.open_parties else set()
    if view.may_be_passed and offered:
        offered.add("risk")
    bound = {"release": release_form, "risk": risk_form}
    context = {
        "view": view,
        "refusals": not_shown({n: f for n, f in bound.items() if f.is_bound}, offered),
        "point": point,
        "release_form": release_form,
        "risk_form": risk_form,
        "may_release": may(signed_in(request), Group.QUALITY_ENGINEER),
        "records": records_of(point.operation_id, kind),
        "is_test": kind in TESTS,
        "new_url": new_url,
        "new_label": new_label,
    }
    status = status_of(release_form, risk_form)
    return render(request, "quality/point.html", context, status=status)
