"""What can have happened to an order."""

from django.db.models import TextChoices


class Fact(TextChoices):
    CUSTOMER_ADDED = "orders.customer_added"
    CONTACT_ADDED = "orders.contact_added"
    ENQUIRY_ENTERED = "orders.enquiry_entered"
    ENQUIRY_CHANGED = "orders.enquiry_changed"
    ENQUIRY_DECLINED = "orders.enquiry_declined"
    ITEM_ADDED = "orders.item_added"
    CHOICE_TAKEN = "orders.choice_taken"
    ORDER_TAKEN = "orders.order_taken"
    ORDER_HELD = "orders.order_held"
    ORDER_RESUMED = "orders.order_resumed"
    ORDER_CANCELLED = "orders.order_cancelled"
    ORDER_SHIPPED = "orders.order_shipped"
    PRIORITY_SET = "orders.priority_set"
    DATES_SET = "orders.dates_set"
    DELIVERY_SET = "orders.delivery_set"
    DELIVERY_SHIPPED = "orders.delivery_shipped"
    DATE_PUBLISHED = "orders.date_published"
    CHANGE_PROPOSED = "orders.change_proposed"
    CHANGE_ACCEPTED = "orders.change_accepted"
    CHANGE_REFUSED = "orders.change_refused"
    LINK_MADE = "orders.link_made"
    LINK_REVOKED = "orders.link_revoked"
    REPORT_ISSUED = "orders.report_issued"
