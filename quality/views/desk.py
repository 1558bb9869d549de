"""The inspection desk and a plan's page."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from quality.models import InspectionPlan
from quality.queries.desk import desk as desk_query
from quality.queries.plans import plan_view


@require_GET
def desk(request: HttpRequest) -> HttpResponse:
    """Holds waiting, visits inside their notice, open majors, certificates missing."""
    return render(request, "quality/desk.html", {"desk": desk_query(timezone.now())})


@require_GET
def plan(request: HttpRequest, pk: int) -> HttpResponse:
    """An inspection plan: every point with each party's part and where it stands."""
    try:
        view = plan_view(pk)
    except InspectionPlan.DoesNotExist as error:
        raise Http404 from error
    return render(request, "quality/plan.html", {"view": view})
