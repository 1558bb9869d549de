"""What every page knows: the site, the ways round the house, and a demonstration still loading."""

from typing import Any

from django.http import HttpRequest
from django.urls import NoReverseMatch, reverse

from works.models import Job

NAVIGATION = (
    ("Board", "orders:board"),
    ("Orders", "orders:orders"),
    ("Enquiries", "orders:enquiries"),
    ("Selection", "selection:studies"),
    ("Planning", "schedule:desk"),
    ("Work lists", "schedule:work_lists"),
    ("Buying", "schedule:bought_outs"),
    ("Patterns", "selection:patterns"),
    ("Inspection", "quality:desk"),
    ("Nonconformances", "quality:nonconformances"),
    ("Alerts", "orders:alerts"),
    ("Catalogue", "selection:catalogue"),
    ("Set-up", "works:setup"),
)

SETUP = (
    (
        "The works",
        (
            ("Site: name, country, time zone, settings", "works:site"),
            ("People and groups", "works:people"),
            ("Tables of standards", "works:standards"),
        ),
    ),
    (
        "When",
        (
            ("Calendars: shifts, holidays, shutdowns, overtime", "schedule:calendars"),
            ("Work centres", "schedule:work_centres"),
            ("Freight lanes", "schedule:lanes"),
            ("Route templates", "schedule:templates"),
        ),
    ),
    (
        "What pump",
        (
            ("Pattern register", "selection:patterns"),
            ("Catalogue: casings, impellers, tested curves", "selection:catalogue"),
            ("Metals and rules", "selection:metals"),
        ),
    ),
    (
        "Proof",
        (
            ("Instruments and calibration", "quality:instruments"),
            ("Inspection plan templates", "quality:plan_templates"),
        ),
    ),
    ("Who for", (("Customers and contacts", "orders:customers"),)),
    (
        "Looking after it",
        (
            ("History of all deeds", "works:events"),
            ("Work in the background", "works:background"),
        ),
    ),
)


def setup_sections() -> list[tuple[str, list[tuple[str, str]]]]:
    """The set-up pages that this installation has, in the order an empty works needs them."""
    return [
        (title, [(label, address) for label, name in ways if (address := _address(name))])
        for title, ways in SETUP
    ]


def _address(name: str) -> str:
    try:
        return reverse(name)
    except NoReverseMatch:
        return ""  # an installation may leave a page out; the list then doesn't offer it


def works(request: HttpRequest) -> dict[str, Any]:
    """site, navigation and, while it loads, the demonstration's job."""
    site = getattr(request, "works_site", None)
    loading = None
    if site is None or site.is_demonstration:
        loading = Job.objects.filter(kind="demonstration", state__in=["waiting", "running"]).first()
    return {"site": site, "navigation": NAVIGATION, "loading": loading}
