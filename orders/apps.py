"""Who and what for: see the package's models, actions and queries."""

from django.apps import AppConfig


class OrdersConfig(AppConfig):
    name = "orders"
    verbose_name = "Orders"
