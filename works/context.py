"""What every page knows: the site, the ways round the house, and a demonstration still loading."""

from typing import Any

from django.http import HttpRequest

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


def works(request: HttpRequest) -> dict[str, Any]:
    """site, navigation and, while it loads, the demonstration's job."""
    site = getattr(request, "works_site", None)
    loading = None
    if site is None or site.is_demonstration:
        loading = Job.objects.filter(kind="demonstration", state__in=["waiting", "running"]).first()
    return {"site": site, "navigation": NAVIGATION, "loading": loading}
