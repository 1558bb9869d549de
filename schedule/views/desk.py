"""The planning desk: load by work centre and week, routes by days in hand, starts overdue."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from schedule.queries.load import load, routes_by_days_in_hand, starts_overdue


@require_GET
def desk(request: HttpRequest) -> HttpResponse:
    """The planner's morning."""
    now = timezone.now()
    centres, overdue = load(now=now), starts_overdue(now=now)
    context = {
        "centres": centres,
        "weeks": [cell.monday for cell in centres[0].cells] if centres else [],
        "overloaded_count": sum(any(cell.is_over for cell in c.cells[:3]) for c in centres),
        "routes": routes_by_days_in_hand(),
        "overdue": overdue,
        "overdue_count": len(overdue),
        "now": now,
    }
    page = "schedule/_desk.html" if request.htmx else "schedule/desk.html"  # type: ignore[attr-defined]
    return render(request, page, context)
