"""The floor's pages: work lists, reports, one operation."""

import secrets

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from schedule.actions import gates, progress
from schedule.forms.fields import now_to_the_minute
from schedule.forms.floor import DEEDS, AtRiskForm, CorrectionForm, ExpectedForm, ReportForm
from schedule.models import Gate, Operation, Progress, WorkCentre
from schedule.queries.confirmations import drilling_templates
from schedule.queries.routes import operation_row, reports
from schedule.queries.work_lists import Next, rows_of, work_list, work_lists
from schedule.views.answers import attempt, form_page, way_back
from works.formats import clock
from works.middleware import tell
from works.people import Group, may
from works.requests import signed_in


@require_GET
def lists(request: HttpRequest) -> HttpResponse:
    """All work centres, area by area."""
    mine = set(signed_in(request).areas)
    context = {"areas": work_lists(timezone.now()), "mine": mine}
    return render(request, "schedule/work_lists.html", context)


@require_GET
def one_list(request: HttpRequest, code: str) -> HttpResponse:
    """One work centre: choose operations and say what was done."""
    centre = get_object_or_404(WorkCentre, code=code)
    context = {
        "list": work_list(centre, now=timezone.now()),
        "deeds": [(deed, words) for deed, words in DEEDS.items() if deed != "part done"],
        "key": secrets.token_hex(8),
        "now": now_to_the_minute(),
    }
    page = "schedule/_work_list_rows.html" if request.htmx else "schedule/work_list.html"  # type: ignore[attr-defined]
    return render(request, page, context)


@require_http_methods(["GET", "POST"])
def report(request: HttpRequest) -> HttpResponse:
    """Take a report; ask for what is missing on a page of its own."""
    sent = request.POST if request.method == "POST" else request.GET
    deed = sent.get("deed", "")
    ids = [int(pk) for pk in sent.getlist("operation") if pk.isdigit()]
    rows = rows_of(ids)
    back = way_back(request, rows[0].list_url if rows else reverse("schedule:work_lists"))
    if not rows or deed not in DEEDS:
        tell(request, "Nothing was reported: tick at least one operation and choose what was done.")
        return redirect(back)
    start = {"deed": deed, "key": secrets.token_hex(8), "stated_at": now_to_the_minute()}
    templates = drilling_templates()
    form = ReportForm(
        request.POST or None, rows=rows, deed=deed, templates=templates, initial=start
    )
    status = 200
    if form.is_bound and any(name not in request.POST for name in _asked(form)):
        # Sent by a work list, which does not know what this report needs: ask, don't scold.
        kept = {**start, **{name: request.POST[name] for name in start if name in request.POST}}
        form = ReportForm(rows=rows, deed=deed, templates=templates, initial=kept)
    elif form.is_bound:
        status = _take(request, form, rows) if form.is_valid() else 422
        if status == 200:
            return redirect(back)
    context = {
        "form": form,
        "rows": rows,
        "deed": deed,
        "words": DEEDS[deed],
        "back": back,
        "cautions": list(dict.fromkeys(row.caution for row in rows if row.caution)),
    }
    return render(request, "schedule/report.html", context, status=status)


def _asked(form: ReportForm) -> list[str]:
    """Fields that must be there, filled or not, for a form to have been on the page."""
    return [name for name, field in form.fields.items() if field.required]


def _take(request: HttpRequest, form: ReportForm, rows: tuple[Next, ...]) -> int:
    said = form.cleaned_data
    made: list[Progress] = []

    def deed() -> None:
        made.extend(
            progress.report(
                operation_ids=[row.pk for row in rows],
                deed=said["deed"],
                stated_at=said["stated_at"],
                started_at=said.get("started_at"),
                by=signed_in(request),
                at=timezone.now(),
                reason=said.get("reason", ""),
                note=said["note"],
                worker=said["worker"],
                remaining_minutes=form.remaining_minutes(),
                confirmed=form.confirmed(),
                key=said["key"],
            )
        )

    status = attempt(form, deed)
    if status == 200:
        marks = sorted({mark for row in made for mark in row.marks})
        marked = f" Marked: {', '.join(marks)}." if marks else ""
        what = rows[0].name if len(rows) == 1 else f"{len(rows)} operations"
        tell(request, f"{what}: {said['deed']} at {clock(said['stated_at'])}.{marked}")
    return status


@require_GET
def operation(request: HttpRequest, pk: int) -> HttpResponse:
    """One operation: its dates, holds, reports, and what can be reported."""
    shown = get_object_or_404(
        Operation.objects.select_related("route", "unit", "work_centre"), pk=pk
    )
    row = operation_row(shown, now=timezone.now())
    listed = rows_of([pk])
    person = signed_in(request)
    context = {
        "operation": shown,
        "row": row,
        "listed": listed[0] if listed else None,
        "reports": reports(Progress.objects.filter(operation=shown)),
        "deeds": _deeds(shown),
        "may_risk": may(person, Group.QUALITY_ENGINEER),
        "may_expect": may(person, Group.QUALITY_ENGINEER, Group.PLANNER, Group.SUPERVISOR),
    }
    return render(request, "schedule/operation.html", context)


def _deeds(operation: Operation) -> list[tuple[str, str]]:
    """What can be reported where the operation stands."""
    by_state: dict[str, tuple[str, ...]] = {
        Operation.State.WAITING: ("start", "finish"),
        Operation.State.STARTED: ("stop", "part done", "finish"),
        Operation.State.STOPPED: ("resume", "part done", "finish"),
        Operation.State.FINISHED: (),
    }
    if operation.kind == Operation.Kind.BOUGHT_OUT or operation.dropped_in is not None:
        return []
    return [(deed, DEEDS[deed]) for deed in by_state[operation.state]]


@require_http_methods(["GET", "POST"])
def correct(request: HttpRequest, pk: int) -> HttpResponse:
    """Correct a mistaken report by a new one."""
    old = get_object_or_404(Progress.objects.select_related("operation__route"), pk=pk)
    form = CorrectionForm(
        request.POST or None, initial={"stated_at": timezone.localtime(old.stated_at)}
    )

    def deed() -> None:
        said = form.cleaned_data
        progress.correct_report(
            report_id=old.pk,
            stated_at=said["stated_at"],
            withdraws=said["withdraws"],
            note=said["note"],
            by=signed_in(request),
            at=timezone.now(),
        )

    return form_page(
        request,
        form,
        deed,
        done="The report is corrected; the one before stays on the record.",
        to=old.operation.get_absolute_url(),
        title=f"Correct: {old.deed} of {old.operation.name}",
        lead="The old report is kept; a new one says what it replaces.",
        submit="Correct",
    )


@require_http_methods(["GET", "POST"])
def at_risk(request: HttpRequest, pk: int) -> HttpResponse:
    """Let work go on past a hold, in writing, under one's own name."""
    gate = _gate(pk)
    form = AtRiskForm(request.POST or None)

    def deed() -> None:
        gates.pass_at_risk(
            gate_id=pk, by=signed_in(request), at=timezone.now(), **form.cleaned_data
        )

    return form_page(
        request,
        form,
        deed,
        done=f"Work may go on past “{gate.reason}”, at your risk.",
        to=gate.operation.get_absolute_url(),
        title=f"Proceed at risk past: {gate.reason}",
        lead=f"{gate.operation}. Your name stands under it; the hold itself stays to be released.",
        submit="Proceed at my risk",
        danger=True,
        context={"caution": "release"},
    )


@require_http_methods(["GET", "POST"])
def expect(request: HttpRequest, pk: int) -> HttpResponse:
    """Say when a hold will be released, so that the forecast knows."""
    gate = _gate(pk)
    form = ExpectedForm(request.POST or None, initial={"on": gate.release_expected_on})

    def deed() -> None:
        gates.expect_release(
            gate_id=pk, on=form.cleaned_data["on"], by=signed_in(request), at=timezone.now()
        )

    return form_page(
        request,
        form,
        deed,
        done="The forecast reckons with that day.",
        to=gate.operation.get_absolute_url(),
        title=f"When will it be released: {gate.reason}",
        lead=str(gate.operation),
        submit="Save",
    )


def _gate(pk: int) -> Gate:
    gate = Gate.objects.select_related("operation__route", "operation__unit").filter(pk=pk).first()
    if gate is None:
        raise Http404(f"No hold {pk}")
    return gate
