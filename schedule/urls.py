"""Addresses of this app's pages."""

from django.urls import URLPattern, URLResolver

app_name = "schedule"
urlpatterns: list[URLPattern | URLResolver] = []
