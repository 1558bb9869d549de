"""Two small layers round every view: the works' clock, and refusals shown as answers."""

from collections.abc import Callable

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

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
        back = request.META.get("HTTP_REFERER", "")
        return render(
            request,
            "works/refused.html",
            {"sentence": str(exception), "back": back},
            status=exception.status,
        )


def tell(request: HttpRequest, sentence: str, *, wrong: bool = False) -> None:
    """Say on the next page what was done, or what was not."""
    (messages.error if wrong else messages.success)(request, sentence)
