"""A frozen choice, shown with the numbers it was made with."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_GET

from selection.charts import kept_drawing
from selection.models import Choice
from selection.queries.choices import duty_facts
from works.drawing import draw, svg


@require_GET
def choice(request: HttpRequest, pk: int) -> HttpResponse:
    thing = get_object_or_404(
        Choice.objects.select_related("study", "size", "impeller__size", "by"), pk=pk
    )
    context = {
        "choice": thing,
        "pump": thing.as_configuration(),
        "facts": duty_facts(thing),
        "chart": svg(draw(kept_drawing(thing.results, str(thing)))),
    }
    return render(request, "selection/choice.html", context)
