"""Fields that several forms of this app have."""

from typing import Any

from django import forms


class DayField(forms.DateField):
    """A day; browsers without a picker take it as 2026-03-04."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}))
        kwargs.setdefault(
            "error_messages",
            {"invalid": "Give a day of the calendar as year-month-day, such as 2026-03-04."},
        )
        super().__init__(**kwargs)


class ReasonField(forms.CharField):
    """A few words; required."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("label", "Reason")
        kwargs.setdefault("max_length", 200)
        kwargs.setdefault("error_messages", {"required": "Say why in a few words."})
        super().__init__(**kwargs)


class VersionField(forms.IntegerField):
    """What the person had before them, so that nobody overwrites what another saved."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(widget=forms.HiddenInput, **kwargs)
