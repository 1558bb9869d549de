"""Addresses of this app's pages."""

from django.urls import URLPattern, URLResolver

app_name = "orders"
urlpatterns: list[URLPattern | URLResolver] = []
