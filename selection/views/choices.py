"""A frozen choice, shown with the numbers it was made with."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_GET

from selection import charts
from selection.desk import form_from
from selection.models import Choice
from selection.queries.answers import duty_sentence
from selection.queries.choices import duty_facts
from works.drawing import draw, svg


@require_GET
def choice(request: HttpRequest, pk: int) -> HttpResponse:
    thing = get_object_or_404(
        Choice.objects.select_related("study", "size", "impeller__size", "by", "replaces"), pk=pk
    )
    lines = charts.from_kept(thing.results)
    form = form_from(thing.inputs)
    context = {
        "choice": thing,
        "pump": thing.as_configuration(),
        "facts": duty_facts(thing),
        "duty": duty_sentence(form) if form.is_valid() else "",
        "raised": [each for each in thing.results["findings"] if each["verdict"] != "good"],
        "in_order": [each for each in thing.results["findings"] if each["verdict"] == "good"],
        "against": [each for each in thing.results["materials"] if each["severity"] != "fits"],
        "fits": [each for each in thing.results["materials"] if each["severity"] == "fits"],
        "chart": svg(draw(charts.drawing(lines, str(thing)))),
        "rows": charts.table(lines),
        "later": thing.study.choices.filter(number__gt=thing.number).order_by("number").last(),
    }
    return render(request, "selection/choice.html", context)
