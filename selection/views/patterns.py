"""The pattern register."""

from django.core.exceptions import ValidationError
from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from selection.actions import catalogue as deeds
from selection.forms.catalogue import PatternForm, initial_of
from selection.models import Pattern
from selection.views.catalogue import put
from selection.views.studies import number_of
from works.errors import Refusal
from works.middleware import tell
from works.queries import history
from works.requests import signed_in


@require_GET
def patterns(request: HttpRequest) -> HttpResponse:
    rows = Pattern.objects.order_by("number")
    if words := request.GET.get("q", "").strip():
        rows = rows.filter(Q(number__icontains=words) | Q(description__icontains=words))
    context = {"patterns": rows, "q": words, "today": timezone.localdate()}
    return render(request, "selection/patterns.html", context)


@require_http_methods(["GET", "POST"])
def new_pattern(request: HttpRequest) -> HttpResponse:
    form = PatternForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            made = deeds.add_pattern(
                fields=form.fields_of_model(), by=signed_in(request), at=timezone.now()
            )
        except (ValidationError, Refusal) as error:
            put(form, error)
        else:
            tell(request, f"Pattern {made.number} is in the register.")
            return redirect(made)
    status = 422 if form.is_bound and form.errors else 200
    return render(
        request, "selection/form.html", {"form": form, "title": "New pattern"}, status=status
    )


@require_http_methods(["GET", "POST"])
def pattern(request: HttpRequest, pk: int) -> HttpResponse:
    """One pattern, its changes, and the castings poured from it."""
    thing = get_object_or_404(Pattern, pk=pk)
    form = PatternForm(request.POST or None, initial=initial_of(thing))
    if request.method == "POST" and form.is_valid():
        try:
            deeds.change_pattern(
                pattern_id=thing.pk,
                version=number_of(request.POST.get("version")),
                fields=form.fields_of_model(),
                by=signed_in(request),
                at=timezone.now(),
            )
        except (ValidationError, Refusal) as error:
            put(form, error)
        else:
            tell(request, f"Pattern {thing.number} is changed.")
            return redirect(thing)
    status = 422 if form.is_bound and form.errors else 200
    context = {"pattern": thing, "form": form, "events": history(thing, 50)}
    return render(request, "selection/pattern.html", context, status=status)
