"""When: see the package's models, actions and queries."""

from django.apps import AppConfig


class ScheduleConfig(AppConfig):
    name = "schedule"
    verbose_name = "Schedule"
