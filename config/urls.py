"""Addresses: each app has its own; the sign-in pages and health checks stand beside them."""

from django.contrib import admin
from django.urls import include, path

from works.views import healthz, readyz

urlpatterns = [
    path("healthz", healthz),
    path("readyz", readyz),
    path("", include("orders.urls")),
    path("selection/", include("selection.urls")),
    path("planning/", include("schedule.urls")),
    path("quality/", include("quality.urls")),
    path("works/", include("works.urls")),
    path("accounts/", include("django.contrib.auth.urls")),
    path("records/", admin.site.urls),
]
