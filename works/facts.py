"""What can have happened on the ground floor."""

from django.db.models import TextChoices


class Fact(TextChoices):
    SITE_SET_UP = "works.site_set_up"
    PERSON_ADDED = "works.person_added"
    PERSON_CHANGED = "works.person_changed"
    PASSWORD_GIVEN = "works.password_given"
    STANDARDS_LOADED = "works.standards_loaded"
    STANDARD_VALUE_UNCHECKED = "works.standard_value_unchecked"
    DOCUMENT_FILED = "works.document_filed"
    STANDARD_VALUE_CHECKED = "works.standard_value_checked"
    ALERT_RAISED = "works.alert_raised"
    ALERT_ESCALATED = "works.alert_escalated"
    ALERT_ACKNOWLEDGED = "works.alert_acknowledged"
    ALERT_CLOSED = "works.alert_closed"
