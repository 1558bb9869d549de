"""Two small layers round every view: the works' clock, and refusals shown as answers."""

from collections.abc import Callable

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme

from works.errors import Refusal
from works.models import Site


class WorksTimeMiddleware:
    """Show every instant in the works' own zone."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        site = Site.objects.first()
        request.works_site = site  # type: ignore[attr-defined]
        with timezone.override(site.zone if site else None):
            return self.get_response(request)


class RefusalMiddleware:
    """Turn a refusal that no view caught into a page that says what would be right."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        if not isinstance(exception, Refusal):
            return None
        context = {"sentence": str(exception), "back": _own_address(request)}
        if getattr(request, "htmx", False):
            # A part that asked: say it where messages stand, and leave the page as it is.
            response = render(request, "works/_refused.html", context, status=422)
            response["HX-Retarget"], response["HX-Reswap"] = "#messages", "innerHTML"
            return response
        return render(request, "works/refused.html", context, status=exception.status)


def _own_address(request: HttpRequest) -> str:
    """The page that asked, if it is one of ours."""
    back = request.META.get("HTTP_REFERER", "")
    ours = url_has_allowed_host_and_scheme(back, {request.get_host()}, request.is_secure())
    return back if ours else ""


def tell(request: HttpRequest, sentence: str, *, wrong: bool = False) -> None:
    """Say on the next page what was done, or what was not."""
    (messages.error if wrong else messages.success)(request, sentence)
