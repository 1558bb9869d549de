"""Pages of the ground floor: set-up, people, papers, standards, history, and what pages poll."""

from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import ValidationError
from django.db import connection
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from works import actions, queries
from works.forms import ChangePersonForm, NewPersonForm, SiteForm, StandardCheckForm
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
    """The database answers too."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
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
    return render(request, "works/setup.html", {"people_count": queries.people().count()})


@require_http_methods(["GET", "POST"])
def site(request: HttpRequest) -> HttpResponse:
    """The works' name, place, time zone and settings."""
    there = Site.objects.first()
    initial = {name: getattr(there, name) for name in actions.SITE_FIELDS} if there else {}
    form = SiteForm(request.POST or None, initial=initial)
    if request.method == "POST" and form.is_valid():
        try:
            actions.set_up_site(by=signed_in(request), at=timezone.now(), **form.cleaned_data)
        except ValidationError as error:
            form.add_error(None, error.messages)
        else:
            tell(request, "The site is set up.")
            return redirect("works:setup")
    status = 422 if form.is_bound and form.errors else 200
    return render(request, "works/site.html", {"form": form}, status=status)


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
        except ValidationError as error:
            form.add_error(None, error.messages)
        else:
            tell(request, f"{person} may sign in now.")
            return redirect("works:people")
    status = 422 if form.is_bound and form.errors else 200
    return render(request, "works/new_person.html", {"form": form}, status=status)


@require_http_methods(["GET", "POST"])
def person(request: HttpRequest, pk: int) -> HttpResponse:
    """What one person may do, and what they did."""
    who = get_object_or_404(Person, pk=pk)
    initial = {"groups": list(who.group_names), "areas": who.areas, "is_active": who.is_active}
    form = ChangePersonForm(request.POST or None, initial=initial)
    if request.method == "POST" and form.is_valid():
        actions.change_person(
            person_id=who.pk, by=signed_in(request), at=timezone.now(), **form.cleaned_data
        )
        tell(request, f"Changed what {who} may do.")
        return redirect("works:people")
    status = 422 if form.is_bound and form.errors else 200
    context = {"form": form, "who": who, "events": who.events.all()[:50]}
    return render(request, "works/person.html", context, status=status)


@require_GET
def standards(request: HttpRequest) -> HttpResponse:
    return render(request, "works/standards.html", {"tables": queries.standard_tables()})


@require_POST
def load_standards(request: HttpRequest) -> HttpResponse:
    """Bring the shipped tables into an empty works."""
    require(signed_in(request), Group.QUALITY_ENGINEER, deed="load the tables of standards")
    count = actions.load_standards()
    tell(request, f"{count} rows of standards are new.")
    return redirect("works:standards")


@require_GET
def standard(request: HttpRequest, table: str) -> HttpResponse:
    """One table with each row's certainty."""
    rows = StandardValue.objects.filter(table=table).select_related("checked_by")
    if not rows:
        raise Http404(f"No table {table}")
    context = {
        "title": table.replace("_", " "),
        "rows": rows,
        "columns": list(rows[0].value),
        "form": StandardCheckForm(initial={"on": timezone.localdate()}),
        "may_check": may(signed_in(request), Group.QUALITY_ENGINEER),
    }
    return render(request, "works/standard.html", context)


@require_POST
def check_standard(request: HttpRequest, pk: int) -> HttpResponse:
    form = StandardCheckForm(request.POST)
    value = get_object_or_404(StandardValue, pk=pk)
    if form.is_valid():
        actions.check_standard_value(
            value_id=pk, on=form.cleaned_data["on"], by=signed_in(request), at=timezone.now()
        )
        tell(request, f"{value.name} is marked as checked.")
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
    if kind := request.GET.get("kind"):
        rows = rows.filter(about_kind=kind)
    return render(request, "works/events.html", {"events": rows[:300], "kind": kind})


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
    Job.objects.filter(pk=pk).update(cancel_asked=True)
    return redirect("works:job", pk=pk)
