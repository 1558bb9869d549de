"""What can have happened in the choice of a pump and its catalogue."""

from django.db.models import TextChoices


class Fact(TextChoices):
    PATTERN_ADDED = "selection.pattern_added"
    PATTERN_CHANGED = "selection.pattern_changed"
    SIZE_ADDED = "selection.size_added"
    SIZE_CHANGED = "selection.size_changed"
    IMPELLER_ADDED = "selection.impeller_added"
    IMPELLER_CHANGED = "selection.impeller_changed"
    CURVE_ADDED = "selection.curve_added"
    CURVE_WITHDRAWN = "selection.curve_withdrawn"
    CURVE_BROUGHT_BACK = "selection.curve_brought_back"
    STUDY_STARTED = "selection.study_started"
    STUDY_SAVED = "selection.study_saved"
    STUDY_COPIED = "selection.study_copied"
    CHOICE_FROZEN = "selection.choice_frozen"
