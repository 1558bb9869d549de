"""Load the demonstration once; a second call finds it there and leaves."""

from typing import Any

from django.core.management.base import BaseCommand

from orders.demonstration.loading import load
from orders.models import Order
from works.jobs import ask, running


class Command(BaseCommand):
    help = "Load Tamebrook Pump Works, its people and its orders: all invented."

    def handle(self, *args: Any, **options: Any) -> None:
        if Order.objects.exists():
            self.stdout.write("The demonstration is loaded already.")
            return
        job, _ = ask("demonstration", key="demonstration", by=None)
        with running(job):
            count = load(job)
        self.stdout.write(f"The demonstration is loaded: {count} orders.")
