"""What the views share: an action asked by a form, and where to go then."""

from collections.abc import Callable
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.http import url_has_allowed_host_and_scheme

from works.errors import Refusal
from works.middleware import tell


def attempt(form: forms.Form, deed: Callable[[], Any]) -> int:
    """Do a deed for a valid form, or put its refusal on the form, where nothing typed is lost.

    returns : 200 when it is done, else the answer's status
    """
    try:
        deed()
    except Refusal as refusal:
        form.add_error(None, str(refusal))
        return refusal.status
    return 200


def form_page(
    request: HttpRequest,
    form: forms.Form,
    deed: Callable[[], Any],
    *,
    done: str,
    to: str,
    title: str,
    submit: str,
    lead: str = "",
    back: str = "",
    danger: bool = False,
    template: str = "schedule/form.html",
    context: dict[str, Any] | None = None,
) -> HttpResponse:
    """A page that is one form: shown, done, or shown again with what is wrong.

    done : what the next page says
    to : the next page
    back : the way out that changes nothing; left out, the next page
    """
    status = 200
    if form.is_bound:
        status = attempt(form, deed) if form.is_valid() else 422
        if status == 200:
            tell(request, done)
            return redirect(to)
    shown = {
        "form": form,
        "title": title,
        "lead": lead,
        "submit": submit,
        "back": back or to,
        "danger": danger,
        **(context or {}),
    }
    return render(request, template, shown, status=status)


def way_back(request: HttpRequest, otherwise: str) -> str:
    """The page named by the request to return to, if it is one of ours."""
    wanted = request.POST.get("next") or request.GET.get("next") or ""
    if url_has_allowed_host_and_scheme(wanted, allowed_hosts={request.get_host()}):
        return wanted
    return otherwise
