"""Numbers of orders: the year and a count, given out one at a time."""

from datetime import date

from django.db import connection

from orders.models import Order

LOCK = 0x6F7264  # an advisory lock of its own, so that two enquiries never take one number


def next_order_number(today: date) -> str:
    """The next free number of the year, e.g. 26-041; to be called in a transaction."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_advisory_xact_lock(%s)", [LOCK])
    prefix = f"{today:%y}-"
    # As figures, not as text: after 26-999 comes 26-1000, which as text would stand before it.
    given = Order.objects.filter(number__regex=rf"^{prefix}[0-9]+$").values_list(
        "number", flat=True
    )
    last = max((int(number.removeprefix(prefix)) for number in given), default=0)
    return f"{prefix}{last + 1:03d}"


def serial_number(order_number: str, item: int, unit: int) -> str:
    """A unit's serial number, e.g. 26-041-1-02: order, item, unit."""
    return f"{order_number}-{item}-{unit:02d}"
