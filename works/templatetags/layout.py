"""The page's frame: the ways round the house, and when the page was true."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django import template
from django.urls import NoReverseMatch, reverse
from django.utils import timezone

register = template.Library()


@dataclass(frozen=True)
class Way:
    """One entry of the masthead."""

    label: str
    url: str
    is_current: bool


@register.inclusion_tag("works/_nav_items.html", takes_context=True)
def navigation_items(context: template.Context) -> dict[str, Any]:
    """The entries of `navigation` (label, url name) that this installation has.

    The entry with the longest address that the page's own address begins with is the current one,
    so that an order's page still points back to "Orders"; "/" is current only on itself.
    """
    request = context.get("request")
    path = request.path if request else ""
    addresses: list[tuple[str, str]] = []
    for label, name in context.get("navigation") or ():
        try:
            addresses.append((label, reverse(name)))
        except NoReverseMatch:
            continue  # an installation may leave a page out; the masthead then doesn't offer it
    nearest = max((url for _, url in addresses if _leads_to(url, path)), key=len, default=None)
    return {"ways": [Way(label, url, url == nearest) for label, url in addresses]}


def _leads_to(url: str, path: str) -> bool:
    return path == url if url == "/" else path.startswith(url)


@register.inclusion_tag("works/_as_of.html")
def as_of(at: datetime | None = None) -> dict[str, Any]:
    """When what is shown was true; left out, now. Scripts say in words when it grows old."""
    return {"at": at or timezone.now()}
