"""Load the demonstration once; a second call finds it there and leaves."""

from typing import Any

from django.core.management.base import BaseCommand

from orders.demonstration.loading import load
from orders.demonstration.people import LOGINS, PASSWORD
from orders.models import Order
from works.jobs import ask, running


class Command(BaseCommand):
    help = "Load Tamebrook Pump Works, its people and its orders: all invented."

    def handle(self, *args: Any, **options: Any) -> None:
        self.stdout.write("The demonstration's logins; the password of each is " + PASSWORD)
        for login in LOGINS:
            areas = f" ({', '.join(login.areas)})" if login.areas else ""
            self.stdout.write(f"  {login.username:<10} {login.group}{areas}")
        self.stdout.flush()
        if Order.objects.exists():
            self.stdout.write("The demonstration is loaded already.")
            return
        job, _ = ask("demonstration", key="demonstration", by=None)
        with running(job):
            count = load(job)
        self.stdout.write(f"The demonstration is loaded: {count} orders.")
