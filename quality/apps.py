"""Proof: see the package's models, actions and queries."""

from django.apps import AppConfig


class QualityConfig(AppConfig):
    name = "quality"
    verbose_name = "Quality"
