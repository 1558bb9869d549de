"""Addresses of this app's pages."""

from django.urls import URLPattern, URLResolver

app_name = "selection"
urlpatterns: list[URLPattern | URLResolver] = []
