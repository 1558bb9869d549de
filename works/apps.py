"""The ground floor: site, people, events, outbox, jobs, files, standards."""

from django.apps import AppConfig


class WorksConfig(AppConfig):
    name = "works"
    verbose_name = "Works"
