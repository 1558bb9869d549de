"""The selection desk: duties being worked on, and what the catalogue answers to one."""

from typing import Any

from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST
from django.views.decorators.vary import vary_on_headers
from django_htmx.http import HttpResponseClientRedirect
from django_htmx.middleware import HtmxDetails

from selection.actions import studies as deeds
from selection.desk import form_of
from selection.forms.desk import layout
from selection.forms.duty import DutyForm
from selection.forms.studies import CopyForm, NewStudyForm
from selection.hydraulics.errors import HydraulicsError
from selection.models import Study
from selection.queries.answers import answer_to
from works.drawing import draw, svg
from works.errors import ChangedMeanwhile, Refusal
from works.middleware import tell
from works.people import Group, may
from works.queries import history
from works.requests import signed_in

LISTED = 200


class HtmxRequest(HttpRequest):
    htmx: HtmxDetails


@require_GET
def studies(request: HttpRequest) -> HttpResponse:
    """The latest studies."""
    return _studies(request, NewStudyForm())


@require_POST
def new_study(request: HttpRequest) -> HttpResponse:
    """Start a study that belongs to no enquiry."""
    form = NewStudyForm(request.POST)
    if form.is_valid():
        try:
            study = deeds.start_study(
                title=form.cleaned_data["title"], by=signed_in(request), at=timezone.now()
            )
        except Refusal as refusal:
            form.add_error(None, str(refusal))
            return _studies(request, form, status=refusal.status)
        return redirect(study)
    return _studies(request, form, status=422)


def _studies(request: HttpRequest, form: NewStudyForm, status: int = 200) -> HttpResponse:
    rows = (
        Study.objects.select_related("by")
        .annotate(frozen=Count("choices"))
        .order_by("-id")[:LISTED]
    )
    context = {"studies": rows, "form": form, "listed": LISTED}
    return render(request, "selection/studies.html", context, status=status)


@require_http_methods(["GET", "POST"])
@vary_on_headers("HX-Request")
def study(request: HtmxRequest, pk: int) -> HttpResponse:
    """The desk: a duty on the left, what the catalogue answers on the right.

    A change of any field asks again without keeping anything; Compute, and opening a candidate,
    keep what was typed.
    """
    thing = get_object_or_404(Study.objects.select_related("by"), pk=pk)
    if request.method == "POST":
        return _asked(request, thing)
    form = form_of(thing) if thing.inputs else DutyForm(initial=_usual())
    return _answered(request, thing, form)


def _usual() -> dict[str, Any]:
    """What a new study offers: fresh water at 20 °C, flooded suction, sea level."""
    return {
        "temperature": 293.15,
        "suction_level": 0.0,
        "suction_loss": 0.5,
        "altitude": 0.0,
        "pumps": 1,
        "standby": 0,
    }


def _asked(request: HtmxRequest, thing: Study) -> HttpResponse:
    form = DutyForm(request.POST)
    keeps = "keep" in request.POST or "open" in request.POST
    version = number_of(request.POST.get("version"))
    if not form.is_valid():
        codes = {error.code for errors in form.errors.as_data().values() for error in errors}
        still_typing = not keeps and codes == {"required"}
        return _answered(request, thing, form, status=200 if still_typing else 422, is_asked=keeps)
    if not keeps:
        if version != thing.version:
            form.add_error(None, str(ChangedMeanwhile(what=f"The duty of {thing}")))
        return _answered(request, thing, form, is_asked=False)
    try:
        thing = deeds.save_inputs(
            study_id=thing.pk,
            version=version,
            inputs=form.inputs,
            pumps=form.cleaned_data["pumps"],
            by=signed_in(request),
            at=timezone.now(),
        )
    except Refusal as refusal:
        form.add_error(None, str(refusal))
        return _answered(request, thing, form, status=refusal.status)
    if key := request.POST.get("open"):
        address = reverse("selection:candidate", args=[thing.pk, key])
        return HttpResponseClientRedirect(address) if request.htmx else redirect(address)
    if request.htmx:
        # Compute stands at the form's foot: bring the answer into sight.
        response = _answered(request, thing, form)
        response["HX-Reswap"] = "outerHTML show:#answer:top"
        return response
    return redirect(f"{thing.get_absolute_url()}#answer")


def _answered(
    request: HtmxRequest,
    thing: Study,
    form: DutyForm,
    *,
    status: int = 200,
    is_asked: bool = True,
) -> HttpResponse:
    """The page; for htmx the answer alone, or form and answer when the form has to show an error.

    is_asked : somebody pressed Compute, so that what is missing is an error
    """
    context: dict[str, Any] = {
        "study": thing,
        "form": form,
        "is_kept": form.is_bound and form.inputs == thing.inputs,
        "may_keep": may(signed_in(request), Group.APPLICATION_ENGINEER),
        **_wanting(form, is_asked=is_asked),
    }
    if form.is_bound and form.is_valid():
        charted = _sent(request, "chart") or _sent(request, "charted")
        context |= _answer(form, charted, all_rejected=bool(_sent(request, "all")))
    if request.htmx:
        status = 200 if status == 200 else 422  # htmx swaps no other refusal in
        if not (is_asked and form.errors):
            context["is_part"] = True
            return render(request, "selection/_answer.html", context, status=status)
    context |= {
        "layout": layout(form),
        "choices": thing.choices.select_related("impeller__size", "by").defer("results"),
        "copy_form": CopyForm(study=thing),
        "events": history(thing, 30),
    }
    response = render(request, "selection/study.html", context, status=status)
    if request.htmx:
        response["HX-Retarget"] = response["HX-Reselect"] = ".desk"
    return response


def _sent(request: HttpRequest, name: str) -> str:
    return str((request.POST if request.method == "POST" else request.GET).get(name, ""))


def _answer(form: DutyForm, charted: str, *, all_rejected: bool) -> dict[str, Any]:
    try:
        answer = answer_to(form, charted=charted, all_rejected=all_rejected)
    except (HydraulicsError, Refusal) as error:
        return {"trouble": str(error)}
    chart = svg(draw(answer.drawing)) if answer.drawing else ""
    return {"answer": answer, "chart": chart}


def _wanting(form: DutyForm, *, is_asked: bool) -> dict[str, Any]:
    """What is wrong, each with its field; while one still types, what is missing only so far."""
    wrong: list[dict[str, str]] = []
    missing: list[dict[str, str]] = []
    for name, errors in form.errors.items() if form.is_bound else ():
        for error in errors.as_data():
            target = form[name].id_for_label if name in form.fields else ""
            row = {"name": form.name_of(name), "target": target, "said": error.messages[0]}
            (wrong if is_asked or error.code != "required" else missing).append(row)
    return {"wrong": wrong, "missing": missing}


def number_of(typed: str | None) -> int:
    """A version as the page sent it; anything else is none that there ever was."""
    return int(typed) if typed and typed.isascii() and typed.isdigit() and len(typed) < 10 else -1


@require_POST
def copy(request: HttpRequest, pk: int) -> HttpResponse:
    """Copy another study's duty into this one, or this one into a new study."""
    thing = get_object_or_404(Study, pk=pk)
    form = CopyForm(request.POST, study=thing)
    if not form.is_valid():
        tell(request, "Nothing was copied: pick a study from the list.", wrong=True)
        return redirect(thing)
    source = form.cleaned_data["source"]
    made = deeds.copy_study(
        study_id=source.pk if source else thing.pk,
        into_id=thing.pk if source else None,
        version=number_of(request.POST.get("version")) if source else None,
        by=signed_in(request),
        at=timezone.now(),
    )
    tell(request, f"Copied into {made}.")
    return redirect(made)
