"""Forms that set the works up: calendars, work centres, lanes, templates."""

import re
from collections.abc import Mapping
from datetime import date
from typing import Any

from django import forms

from schedule.actions.calendars import NewShift
from schedule.forms.fields import PlainForm, clock, day
from schedule.models import Calendar, CalendarDay, Lane, WorkCentre
from works.cautions import CAUTIONS
from works.people import Area

WEEKDAYS = [
    ("0", "Mon"),
    ("1", "Tue"),
    ("2", "Wed"),
    ("3", "Thu"),
    ("4", "Fri"),
    ("5", "Sat"),
    ("6", "Sun"),
]
ROWS = 4


class ShiftsForm(PlainForm):
    """A week: up to four stretches of hours, each on the days ticked."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for n in range(1, ROWS + 1):
            self.fields[f"days_{n}"] = forms.MultipleChoiceField(
                choices=WEEKDAYS,
                widget=forms.CheckboxSelectMultiple,
                required=False,
                label=f"Hours {n}: on",
            )
            self.fields[f"starts_{n}"] = clock("from", required=False)
            self.fields[f"ends_{n}"] = clock("to", required=False)
        self.fields["ends_1"].help_text = "at or before the start means the next day"

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        for n in range(1, ROWS + 1):
            given = [
                bool(cleaned.get(f"days_{n}")),
                cleaned.get(f"starts_{n}") is not None,
                cleaned.get(f"ends_{n}") is not None,
            ]
            if any(given) and not all(given):
                self.add_error(f"days_{n}", "Give days, from and to, or leave all three empty.")
        if not self.errors and not self.shifts():
            self.add_error("days_1", "Give at least one stretch of hours.")
        return cleaned

    def shifts(self) -> list[NewShift]:
        """The week as typed."""
        found = []
        for n in range(1, ROWS + 1):
            days = self.cleaned_data.get(f"days_{n}") or []
            starts, ends = self.cleaned_data.get(f"starts_{n}"), self.cleaned_data.get(f"ends_{n}")
            if starts is None or ends is None:
                continue
            found += [NewShift(weekday=int(d), starts=starts, ends=ends) for d in days]
        return found


class NewCalendarForm(ShiftsForm):
    name = forms.CharField(max_length=60)
    country = forms.RegexField(
        r"^[A-Za-z]{2}$",
        required=False,
        help_text="of the public holidays, such as PT; empty: the works' own",
        error_messages={"invalid": "Give two letters, such as PT."},
    )
    region = forms.CharField(max_length=10, required=False)
    keeps_public_holidays = forms.BooleanField(required=False, initial=True)


def week_of(calendar: Calendar) -> dict[str, Any]:
    """A calendar's week as the form shows it: equal hours in one row."""
    rows: dict[tuple[Any, Any], list[str]] = {}
    for shift in calendar.shifts.all():
        rows.setdefault((shift.starts, shift.ends), []).append(str(shift.weekday))
    initial: dict[str, Any] = {}
    for n, ((starts, ends), days) in enumerate(list(rows.items())[:ROWS], 1):
        initial |= {f"days_{n}": days, f"starts_{n}": starts, f"ends_{n}": ends}
    return initial


class OvertimeForm(PlainForm):
    on = day("On")
    starts = clock("From")
    ends = clock("To")
    note = forms.CharField(max_length=120, required=False)


class CloseDaysForm(PlainForm):
    kind = forms.ChoiceField(
        choices=[(k, k) for k in CalendarDay.Kind.values if k != CalendarDay.Kind.OVERTIME],
        label="What",
    )
    first = day("First day")
    last = day("Last day")
    note = forms.CharField(max_length=120, required=False)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        first, last = cleaned.get("first"), cleaned.get("last")
        if isinstance(first, date) and isinstance(last, date) and last < first:
            self.add_error("last", f"The last day is before the first, {first}.")
        return cleaned


class HolidaysForm(PlainForm):
    first_year = forms.IntegerField(min_value=2000, max_value=2100, label="From the year")
    last_year = forms.IntegerField(min_value=2000, max_value=2100, label="To the year")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        first, last = cleaned.get("first_year"), cleaned.get("last_year")
        if first and last and not first <= last <= first + 10:
            self.add_error("last_year", f"Give a year from {first} to {first + 10}.")
        return cleaned


class WorkCentreForm(PlainForm):
    name = forms.CharField(max_length=60)
    area = forms.ChoiceField(choices=Area.choices)
    places = forms.IntegerField(
        min_value=1, max_value=99, initial=1, help_text="operations side by side"
    )
    calendar = forms.ModelChoiceField(Calendar.objects.order_by("name"), empty_label=None)
    firm_days = forms.IntegerField(
        min_value=0, max_value=60, initial=0, help_text="working days ahead that no plan moves"
    )
    caution = forms.ChoiceField(
        choices=[("", "none"), *((key, found.title) for key, found in CAUTIONS.items())],
        required=False,
    )


class NewWorkCentreForm(WorkCentreForm):
    code = forms.RegexField(
        r"^[A-Za-z0-9][A-Za-z0-9-]{0,19}$",
        max_length=20,
        help_text="as templates name it, such as BORER",
        error_messages={"invalid": "Use letters, digits and hyphens, 20 at the most."},
    )
    field_order = ("code", "name", "area", "places", "calendar", "firm_days", "caution")


class ChangeWorkCentreForm(WorkCentreForm):
    closed_for_good = forms.BooleanField(required=False)


class StandardCentresForm(PlainForm):
    calendar = forms.ModelChoiceField(
        Calendar.objects.order_by("name"), empty_label=None, label="They keep the calendar"
    )


class LaneForm(PlainForm):
    name = forms.CharField(max_length=80)
    mode = forms.ChoiceField(choices=Lane.Mode.choices)
    destination = forms.CharField(max_length=80)
    country = forms.RegexField(
        r"^[A-Za-z]{2}$", error_messages={"invalid": "Give two letters, such as NA."}
    )
    door_to_port_days = forms.IntegerField(min_value=0, max_value=90, initial=0)
    cut_off_days = forms.IntegerField(
        min_value=0, max_value=30, initial=0, help_text="before sailing that the port closes"
    )
    sailing_weekdays = forms.MultipleChoiceField(
        choices=WEEKDAYS,
        widget=forms.CheckboxSelectMultiple,
        required=False,
        help_text="of ship or aircraft; none by road means any day",
    )
    voyage_days = forms.IntegerField(min_value=0, max_value=180, initial=0)
    customs_days = forms.IntegerField(min_value=0, max_value=90, initial=0)
    haulage_days = forms.IntegerField(min_value=0, max_value=90, initial=0)

    def fields_of_lane(self) -> dict[str, Any]:
        """What was typed, ready for the action."""
        said = dict(self.cleaned_data)
        said["sailing_weekdays"] = [int(day) for day in said["sailing_weekdays"]]
        said["country"] = said["country"].upper()
        return said


class ChangeLaneForm(LaneForm):
    withdrawn = forms.BooleanField(required=False, label="No longer used")


class TemplateTableForm(PlainForm):
    name = forms.CharField(max_length=60)
    kind = forms.CharField(max_length=20, help_text="of item: pump, spares impeller …")
    table = forms.CharField(
        widget=forms.Textarea, help_text="CSV with the columns of the house's own templates"
    )


class TemplateRowForm(PlainForm):
    """What a planner changes of a template's row."""

    name = forms.CharField(max_length=90)
    work_centre = forms.ChoiceField(required=False)
    length = forms.DecimalField(
        required=False, min_value=0, max_value=1000, max_digits=7, decimal_places=2
    )
    after = forms.CharField(
        required=False,
        max_length=400,
        help_text="codes apart by semicolons, each with a lag if any: ENG-PARTS; PRIME-2+0.7 d",
    )

    def __init__(self, *args: Any, row: Mapping[str, Any], **kwargs: Any) -> None:
        self.row = row
        self.unit_minutes = 60 if row["kind"] == "working" else 1440
        minutes = row.get("minutes")
        kwargs["initial"] = {
            "name": row["name"],
            "work_centre": row["work_centre"],
            "length": None if minutes is None else f"{minutes / self.unit_minutes:g}",
            "after": "; ".join(_after(a) for a in row["after"]),
        }
        super().__init__(*args, **kwargs)
        codes = WorkCentre.objects.filter(closed_for_good=False).values_list("code", "name")
        self.fields["work_centre"].choices = [("", "none"), *codes]  # type: ignore[attr-defined]
        self.fields["length"].label = "Hours worked" if self.unit_minutes == 60 else "Days passing"
        if minutes is None:
            del self.fields["length"]

    def changes(self) -> dict[str, Any]:
        """The row's fields as typed."""
        said = self.cleaned_data
        found = {"name": said["name"], "work_centre": said["work_centre"]}
        if said.get("length") is not None:
            found["minutes"] = round(said["length"] * self.unit_minutes)
        found["after"] = said["after"]
        return found

    def clean_after(self) -> list[dict[str, Any]]:
        found = []
        for word in self.cleaned_data["after"].split(";"):
            if not word.strip():
                continue
            parts = re.fullmatch(r"\s*([A-Z0-9-]+)\s*(?:\+\s*(\d+(?:\.\d+)?) ?([hd]))?\s*", word)
            if parts is None:
                raise forms.ValidationError(
                    f"{word.strip()!r} is no predecessor: write CODE or CODE+0.7 d."
                )
            scale = 60 if parts[3] == "h" else 1440
            lag = round(float(parts[2]) * scale) if parts[2] else 0
            found.append({"code": parts[1], "lag_minutes": lag})
        return found


def _after(after: Mapping[str, Any]) -> str:
    lag = after.get("lag_minutes", 0)
    return after["code"] if not lag else f"{after['code']}+{lag / 1440:g} d"
