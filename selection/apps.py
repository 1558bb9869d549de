"""What pump: see the package's models, actions and queries."""

from django.apps import AppConfig


class SelectionConfig(AppConfig):
    name = "selection"
    verbose_name = "Selection"
