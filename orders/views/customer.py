"""The customer's page behind a private link: no login, one order, nothing internal.

The secret stands in an address only once: the first GET moves it into a cookie of the page's own
path and goes on to a clean address. Reading changes nothing, since mail scanners fetch links too.
"""

from collections.abc import Callable
from functools import update_wrapper
from typing import Concatenate, ParamSpec

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST

from orders.actions.links import open_link
from orders.errors import DeadLink
from orders.forms.customer import AnswerForm
from orders.models import CustomerLink, StatusReport
from orders.queries.status import status_of
from quality.actions.nonconformances import answer_concession
from quality.models import Concession
from works.errors import Refusal
from works.middleware import tell
from works.models import Revision
from works.views import as_attachment

COOKIE = "order_link"
Rest = ParamSpec("Rest")


def _guarded(response: HttpResponse, *, referrer: str = "no-referrer") -> HttpResponse:
    response["Referrer-Policy"] = referrer
    response["Cache-Control"] = "no-store"
    response["X-Robots-Tag"] = "noindex"
    return response


def _dead(request: HttpRequest) -> HttpResponse:
    return _guarded(
        render(request, "orders/customer/dead_link.html", {"sentence": str(DeadLink())}, status=404)
    )


def behind_link(
    view: Callable[Concatenate[HttpRequest, CustomerLink, Rest], HttpResponse],
) -> Callable[..., HttpResponse]:
    """Hand the view its link, or show that the link leads nowhere."""

    def wrapped(
        request: HttpRequest, pk: int, *args: Rest.args, **rest: Rest.kwargs
    ) -> HttpResponse:
        try:
            link = open_link(secret=request.COOKIES.get(COOKIE, ""), at=timezone.now())
        except DeadLink:
            return _dead(request)
        if link.pk != pk:
            return _dead(request)
        # The clean address holds no secret. A form sent under "no-referrer" would state no origin,
        # and be refused as forged.
        return _guarded(view(request, link, *args, **rest), referrer="same-origin")

    update_wrapper(wrapped, view)
    return login_not_required(never_cache(wrapped))


@login_not_required
@never_cache
@require_GET
def enter(request: HttpRequest, secret: str) -> HttpResponse:
    """Take the secret out of the address."""
    try:
        link = open_link(secret=secret, at=timezone.now())
    except DeadLink:
        return _dead(request)
    page = reverse("orders:customer_page", args=[link.pk])
    response = redirect(page)
    response.set_cookie(
        COOKIE,
        secret,
        path=page,
        expires=link.expires_at,
        httponly=True,
        secure=request.is_secure(),
        samesite="Lax",
    )
    return _guarded(response)


@require_GET
@behind_link
def page(request: HttpRequest, link: CustomerLink) -> HttpResponse:
    """Where the order stands, dates to attend, questions to answer, documents."""
    return _page(request, link)


@require_POST
@behind_link
def answer(request: HttpRequest, link: CustomerLink, concession_id: int) -> HttpResponse:
    """Answer a concession in writing."""
    concession = get_object_or_404(
        Concession,
        pk=concession_id,
        nonconformance__route__item__order=link.order,
    )
    form = AnswerForm(request.POST, prefix=f"answer-{concession.pk}")
    if not link.may_answer:
        form.add_error(
            None, "This link is for reading only; ask the works for one that may answer."
        )
    if form.is_valid():
        try:
            answer_concession(
                concession_id=concession.pk,
                answer=form.cleaned_data["answer"],
                words=form.cleaned_data["words"],
                answered_by=form.cleaned_data["answered_by"],
                at=timezone.now(),
            )
        except Refusal as refusal:
            form.add_error(None, str(refusal))
        else:
            tell(request, "Thank you: your answer is recorded and the works has it.")
            return redirect("orders:customer_page", pk=link.pk)
    return _page(request, link, {concession.pk: form}, status=422)


@require_GET
@behind_link
def paper(request: HttpRequest, link: CustomerLink, revision_id: int) -> HttpResponse:
    """A document for the customer, of this order only."""
    revision = get_object_or_404(
        Revision,
        pk=revision_id,
        document__about_kind="orders.order",
        document__about_id=link.order_id,
        document__for_customer=True,
    )
    return as_attachment(revision)


@require_GET
@behind_link
def report(request: HttpRequest, link: CustomerLink, number: int) -> HttpResponse:
    """An issued status report, as it was sent."""
    issued = get_object_or_404(
        StatusReport.objects.select_related("paper"), order=link.order, number=number
    )
    return as_attachment(issued.paper)


def _page(
    request: HttpRequest,
    link: CustomerLink,
    bound: dict[int, AnswerForm] | None = None,
    *,
    status: int = 200,
) -> HttpResponse:
    bound = bound or {}
    shown = status_of(link.order, now=timezone.now())
    questions = [
        (line, bound.get(line.concession_id or 0) or _answer_form(line.concession_id))
        for line in shown.open
    ]
    context = {
        "link": link,
        "status": shown,
        "questions": questions,
        "reports": link.order.status_reports.defer("contents"),
    }
    return render(request, "orders/customer/page.html", context, status=status)


def _answer_form(concession_id: int | None) -> AnswerForm | None:
    return AnswerForm(prefix=f"answer-{concession_id}") if concession_id else None
