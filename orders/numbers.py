"""Numbers of orders: the year and a count, given out one at a time."""

from datetime import date

from django.db import connection
from django.db.models import Max

from orders.models import Order

LOCK = 0x6F7264  # an advisory lock of its own, so that two enquiries never take one number


def next_order_number(today: date) -> str:
    """The next free number of the year, e.g. 26-041; to be called in a transaction."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_advisory_xact_lock(%s)", [LOCK])
    prefix = f"{today:%y}-"
    last = Order.objects.filter(number__startswith=prefix).aggregate(last=Max("number"))["last"]
    count = int(last.removeprefix(prefix)) + 1 if last else 1
    return f"{prefix}{count:03d}"


def serial_number(order_number: str, item: int, unit: int) -> str:
    """A unit's serial number, e.g. 26-041-1-02: order, item, unit."""
    return f"{order_number}-{item}-{unit:02d}"
