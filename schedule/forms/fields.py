"""Fields that several forms share: days, times of the clock, and what a person chose."""

from datetime import date, datetime
from typing import Any

from django import forms
from django.utils import timezone


def day(label: str, *, required: bool = True, help_text: str = "") -> forms.DateField:
    """A date as browsers ask for it."""
    return forms.DateField(
        label=label,
        required=required,
        help_text=help_text,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={"invalid": "Give a day as year-month-day, such as 2026-03-04."},
    )


def moment(label: str, *, required: bool = True, help_text: str = "") -> forms.DateTimeField:
    """A time in the works' zone, to the minute."""
    return forms.DateTimeField(
        label=label,
        required=required,
        help_text=help_text,
        input_formats=["%Y-%m-%dT%H:%M", "%Y-%m-%dT%H:%M:%S", "%Y-%m-%d %H:%M"],
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
        error_messages={"invalid": "Give day and time, such as 2026-03-04 14:05."},
    )


def clock(label: str, *, required: bool = True) -> forms.TimeField:
    """A time of day."""
    return forms.TimeField(
        label=label,
        required=required,
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
        error_messages={"invalid": "Give a time, such as 08:00."},
    )


def now_to_the_minute() -> datetime:
    """Now on the works' clock, seconds cut off so that it is never in the future."""
    return timezone.localtime().replace(second=0, microsecond=0)


def today() -> date:
    """The day on the works' calendar."""
    return timezone.localdate()


class PlainForm(forms.Form):
    """A form whose labels end without a colon."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("label_suffix", "")
        super().__init__(*args, **kwargs)
