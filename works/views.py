"""Pages of the ground floor: set-up, people, papers, standards, history, and what pages poll."""

from zoneinfo import available_timezones

from django import forms
from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.db import InterfaceError, OperationalError, connection
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from works import actions, jobs, queries
from works.context import setup_sections
from works.errors import Refusal
from works.forms import (
    ChangePersonForm,
    NewPersonForm,
    PasswordForm,
    SiteForm,
    StandardCheckForm,
)
from works.middleware import tell
from works.models import Event, Job, Person, Revision, Site, StandardValue
from works.people import Group, may, require
from works.requests import signed_in


@login_not_required
@never_cache
@require_GET
def healthz(request: HttpRequest) -> HttpResponse:
    """The process answers."""
    return HttpResponse("ok\n", content_type="text/plain")


@login_not_required
@never_cache
@require_GET
def readyz(request: HttpRequest) -> HttpResponse:
    """The database answers too; the broker need not, as pages only write to the database."""
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
    except (OperationalError, InterfaceError):
        return HttpResponse("no database\n", content_type="text/plain", status=503)
    return HttpResponse("ready\n", content_type="text/plain")


@never_cache
@require_GET
def version(request: HttpRequest) -> HttpResponse:
    """The number that open boards ask for; 204 while the asker is up to date."""
    now = queries.version()
    if request.GET.get("since") == str(now):
        return HttpResponse(status=204)
    response = JsonResponse({"version": now})
    response["HX-Trigger"] = "board-changed"
    return response


@require_GET
def setup(request: HttpRequest) -> HttpResponse:
    """Where everything about the works itself is entered."""
    return render(request, "works/setup.html", {"sections": setup_sections()})


@require_http_methods(["GET", "POST"])
def site(request: HttpRequest) -> HttpResponse:
    """The works' name, place, time zone and settings."""
    there = Site.objects.first()
    initial = {name: getattr(there, name) for name in actions.SITE_FIELDS} if there else {}
    form = SiteForm(request.POST or None, initial=initial)
    if request.method == "POST" and form.is_valid():
        try:
            actions.set_up_site(by=signed_in(request), at=timezone.now(), **form.cleaned_data)
        except (ValidationError, Refusal) as error:
            put(form, error)
        else:
            tell(request, "The site is set up.")
            return redirect("works:setup")
    context = {"form": form, "zones": sorted(available_timezones())}
    return render(request, "works/site.html", context, status=status_of(form))


@require_GET
def people(request: HttpRequest) -> HttpResponse:
    return render(request, "works/people.html", {"people": queries.people()})


@require_http_methods(["GET", "POST"])
def new_person(request: HttpRequest) -> HttpResponse:
    form = NewPersonForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            person = actions.add_person(
                by=signed_in(request), at=timezone.now(), **form.cleaned_data
            )
        except (ValidationError, Refusal) as error:
            put(form, error)
        else:
            tell(request, f"{person} may sign in now.")
            return redirect("works:people")
    return render(request, "works/new_person.html", {"form": form}, status=status_of(form))


@require_http_methods(["GET", "POST"])
def person(request: HttpRequest, pk: int) -> HttpResponse:
    """What one person may do, and what they did."""
    who = get_object_or_404(Person, pk=pk)
    initial = {
        "first_name": who.first_name,
        "last_name": who.last_name,
        "email": who.email,
        "groups": list(who.groups.values_list("name", flat=True)),
        "areas": who.areas,
        "is_active": who.is_active,
    }
    form = ChangePersonForm(request.POST or None, initial=initial)
    if request.method == "POST" and form.is_valid():
        try:
            actions.change_person(
                person_id=who.pk, by=signed_in(request), at=timezone.now(), **form.cleaned_data
            )
        except (ValidationError, Refusal) as error:
            put(form, error)
        else:
            tell(request, f"Changed what {who} may do.")
            return redirect("works:people")
    return _person(request, who, form, PasswordForm(), status_of(form))


@require_POST
def give_password(request: HttpRequest, pk: int) -> HttpResponse:
    """A new password for somebody who forgot theirs."""
    who = get_object_or_404(Person, pk=pk)
    form = PasswordForm(request.POST)
    if form.is_valid():
        try:
            actions.give_password(
                person_id=pk,
                password=form.cleaned_data["password"],
                by=signed_in(request),
                at=timezone.now(),
            )
        except ValidationError as error:
            form.add_error("password", error.messages)
        except Refusal as error:
            form.add_error(None, str(error))
        else:
            tell(request, f"{who} has a new password.")
            return redirect("works:person", pk=pk)
    initial = {"groups": list(who.groups.values_list("name", flat=True)), "areas": who.areas}
    names = {"first_name": who.first_name, "last_name": who.last_name, "email": who.email}
    change = ChangePersonForm(initial={**initial, **names, "is_active": who.is_active})
    return _person(request, who, change, form, 422)


def _person(
    request: HttpRequest, who: Person, form: ChangePersonForm, password: PasswordForm, status: int
) -> HttpResponse:
    context = {"form": form, "password": password, "who": who, "events": who.events.all()[:50]}
    return render(request, "works/person.html", context, status=status)


@require_GET
def standards(request: HttpRequest) -> HttpResponse:
    return render(request, "works/standards.html", {"tables": queries.standard_tables()})


@require_POST
def load_standards(request: HttpRequest) -> HttpResponse:
    """Bring the shipped tables into an empty works."""
    count = actions.load_standards(by=signed_in(request), at=timezone.now())
    tell(request, f"{count} rows of standards are new.")
    return redirect("works:standards")


@require_GET
def standard(request: HttpRequest, table: str) -> HttpResponse:
    """One table with each row's certainty."""
    page = queries.standard_table(table)
    if page is None:
        raise Http404(f"No table {table}")
    context = {
        "page": page,
        "today": timezone.localdate(),
        "may_check": may(signed_in(request), Group.QUALITY_ENGINEER),
    }
    return render(request, "works/standard.html", context)


@require_POST
def check_standard(request: HttpRequest, pk: int) -> HttpResponse:
    value = get_object_or_404(StandardValue, pk=pk)
    form = StandardCheckForm(request.POST)
    if not form.is_valid():
        tell(request, f"{value.name} is not marked: give a date such as 2026-03-04.", wrong=True)
        return redirect("works:standard", table=value.table)
    try:
        value = actions.check_standard_value(
            value_id=pk, on=form.cleaned_data["on"], by=signed_in(request), at=timezone.now()
        )
    except Refusal as refusal:
        tell(request, f"{value.name} is not marked. {refusal}", wrong=True)
    else:
        done = "marked as checked" if value.checked_on else "not marked as checked any more"
        tell(request, f"{value.name} is {done}.")
    return redirect("works:standard", table=value.table)


@require_GET
def revision(request: HttpRequest, pk: int) -> HttpResponse:
    """A kept paper, served as an attachment whatever it is."""
    return as_attachment(get_object_or_404(Revision, pk=pk))


def as_attachment(paper: Revision) -> HttpResponse:
    response = HttpResponse(bytes(paper.content), content_type=paper.content_type)
    response["Content-Disposition"] = f'attachment; filename="{paper.file_name}"'
    response["X-Content-Type-Options"] = "nosniff"
    return response


@require_GET
def events(request: HttpRequest) -> HttpResponse:
    """What happened in the works, newest first."""
    rows = Event.objects.all()
    kind = request.GET.get("kind", "")
    if kind:
        rows = rows.filter(about_kind=kind)
    page = Paginator(rows, 100).get_page(request.GET.get("page"))
    return render(request, "works/events.html", {"page": page, "kind": kind})


@never_cache
@require_GET
def background(request: HttpRequest) -> HttpResponse:
    """What waits to be done without anybody's help: errands, jobs, and their troubles."""
    return render(request, "works/background.html", {"work": queries.background(timezone.now())})


@never_cache
@require_GET
def job(request: HttpRequest, pk: int) -> HttpResponse:
    """A long job's progress; the part alone when htmx asks."""
    page = "works/_job.html" if request.htmx else "works/job.html"  # type: ignore[attr-defined]
    return render(request, page, {"job": get_object_or_404(Job, pk=pk)})


@require_POST
def cancel_job(request: HttpRequest, pk: int) -> HttpResponse:
    """Ask a job to stop at its next step."""
    wanted = get_object_or_404(Job, pk=pk)
    if wanted.asked_by_id != request.user.pk:
        require(signed_in(request), Group.PLANNER, deed="stop somebody else's job")
    if not jobs.stop(wanted):
        tell(request, "It had ended already.", wrong=True)
    return redirect("works:job", pk=pk)


def status_of(form: forms.Form) -> int:
    """What a page answers with that shows this form: 422 when something on it is wrong."""
    return 422 if form.is_bound and form.errors else 200


def put(form: forms.Form, error: ValidationError | Refusal) -> None:
    """Show a refusal on the form, at its field where that is known, so that nothing is lost."""
    if isinstance(error, Refusal):
        form.add_error(None, str(error))
        return
    by_field = error.error_dict if hasattr(error, "error_dict") else {None: error.error_list}
    for name, errors in by_field.items():
        form.add_error(name if name in form.fields else None, errors)
