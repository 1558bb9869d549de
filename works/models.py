"""The works' own facts: site, people, events, outbox, jobs, files, standards, alerts."""

from functools import cached_property
from typing import ClassVar
from zoneinfo import ZoneInfo

import holidays
from django.contrib.auth.models import AbstractUser
from django.contrib.postgres.fields import ArrayField
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Now
from django.urls import reverse

from works.errors import SiteMissing
from works.people import Area, Group
from works.standards.certainty import Certainty


def check_time_zone(name: str) -> None:
    """Refuse a name that the time-zone database does not have."""
    try:
        ZoneInfo(name)
    except (KeyError, ValueError, OSError) as error:
        raise ValidationError(
            f"{name!r} is no time zone: give a name such as Europe/Lisbon."
        ) from error


def check_country(code: str) -> None:
    """Refuse a code that is no country's: public holidays follow it."""
    if code not in holidays.list_supported_countries(include_aliases=False):
        raise ValidationError(f"{code!r} is no country's code: give ISO 3166-1, such as PT.")


class CrossRule(models.TextChoices):
    """How a measured curve must meet the tolerance cross at the guarantee point."""

    EITHER = "either", "either bar is enough"
    BOTH = "both", "both bars"


class Site(models.Model):
    """The one works that this installation serves."""

    name = models.CharField(max_length=120)
    country = models.CharField(
        max_length=2, validators=[check_country], help_text="ISO 3166-1 code, such as PT"
    )
    region = models.CharField(max_length=10, blank=True, help_text="for regional holidays")
    place = models.CharField(max_length=120, blank=True)
    time_zone = models.CharField(max_length=64, validators=[check_time_zone])
    tolerance_cross = models.CharField(
        max_length=10, choices=CrossRule.choices, default=CrossRule.EITHER
    )
    is_demonstration = models.BooleanField(default=False)
    only = models.BooleanField(default=True, unique=True, editable=False)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(only=True), name="site_is_the_only_one")
        ]

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        known = holidays.list_supported_countries(include_aliases=False).get(self.country, [])
        if self.region and self.region not in known:
            right = f"one of {', '.join(known)}" if known else "nothing"
            raise ValidationError(
                {"region": f"{self.country} has no region {self.region!r} with holidays: {right}."}
            )

    @classmethod
    def current(cls) -> "Site":
        """The works' site.

        raises : SiteMissing until it has been set up
        """
        if site := cls.objects.first():
            return site
        raise SiteMissing

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.time_zone)


class Person(AbstractUser):
    """Somebody who signs in; deeds carry the name."""

    areas = ArrayField(
        models.CharField(max_length=20, choices=Area.choices),
        default=list,
        blank=True,
        help_text="areas a supervisor answers for; none means all",
    )

    def __str__(self) -> str:
        return self.get_full_name() or self.username

    @cached_property
    def group_names(self) -> frozenset[str]:
        """Names of the person's groups; the account that sets the works up manages it too."""
        names = frozenset(self.groups.values_list("name", flat=True))
        return names | {str(Group.WORKS_MANAGER)} if self.is_superuser else names


def _told(value: object) -> str:
    """A kept value as a reader would say it."""
    if isinstance(value, dict):
        return "; ".join(
            f"{str(key).replace('_', ' ')}: {_told(each)}" for key, each in value.items()
        )
    if isinstance(value, list):
        return ", ".join(map(_told, value)) or "—"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "—" if value in (None, "") else str(value)


class EventQuerySet(models.QuerySet["Event"]):
    def about(self, thing: models.Model) -> "EventQuerySet":
        return self.filter(about_kind=thing._meta.label_lower, about_id=thing.pk)


class Event(models.Model):
    """What happened, who did it and when; never changed (a trigger refuses)."""

    deed = models.CharField(max_length=80)
    about_kind = models.CharField(max_length=60)
    about_id = models.BigIntegerField()
    about_label = models.CharField(max_length=200)
    by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT, related_name="events")
    by_name = models.CharField(max_length=150)
    at = models.DateTimeField(help_text="when the deed was done, as stated")
    written_at = models.DateTimeField(db_default=Now())
    before = models.JSONField(default=dict)
    after = models.JSONField(default=dict)

    objects = EventQuerySet.as_manager()

    class Meta:
        ordering = ("-id",)
        indexes: ClassVar = [models.Index(fields=["about_kind", "about_id", "-id"])]

    def __str__(self) -> str:
        return f"{self.deed}: {self.about_label}"

    @property
    def words(self) -> str:
        """The deed as a reader would say it, without its app."""
        return self.deed.partition(".")[2].replace("_", " ")

    @property
    def before_words(self) -> str:
        return _told(self.before)

    @property
    def after_words(self) -> str:
        return _told(self.after)


class Outbox(models.Model):
    """An event that others are to hear of; written in the deed's own transaction."""

    event = models.OneToOneField(Event, on_delete=models.PROTECT, related_name="outbox")
    passed_on_at = models.DateTimeField(null=True)

    class Meta:
        indexes: ClassVar = [
            models.Index(fields=["id"], condition=Q(passed_on_at=None), name="outbox_not_passed_on")
        ]

    def __str__(self) -> str:
        return str(self.event)


class Errand(models.Model):
    """One task's answer to one event: handed on until it is done, done once."""

    event = models.ForeignKey(Event, on_delete=models.PROTECT, related_name="errands")
    task = models.CharField(max_length=120)
    handed_on_at = models.DateTimeField(null=True)
    attempts = models.PositiveIntegerField(default=0)
    done_at = models.DateTimeField(null=True)
    trouble = models.TextField(blank=True)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["event", "task"], name="errand_once_an_event_and_task")
        ]
        indexes: ClassVar = [
            models.Index(fields=["handed_on_at"], condition=Q(done_at=None), name="errand_not_done")
        ]

    def __str__(self) -> str:
        return f"{self.task} for {self.event}"


class Job(models.Model):
    """A long piece of work with its progress, so that a page can show and cancel it."""

    class State(models.TextChoices):
        WAITING = "waiting"
        RUNNING = "running"
        DONE = "done"
        FAILED = "failed"
        CANCELLED = "cancelled"

    kind = models.CharField(max_length=60)
    key = models.CharField(max_length=120, help_text="two requests with one key are one job")
    state = models.CharField(max_length=10, choices=State.choices, default=State.WAITING)
    phase = models.CharField(max_length=120, blank=True)
    done = models.PositiveIntegerField(default=0)
    total = models.PositiveIntegerField(default=0)
    asked_by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT)
    asked_at = models.DateTimeField(db_default=Now())
    started_at = models.DateTimeField(null=True)
    ended_at = models.DateTimeField(null=True)
    cancel_asked = models.BooleanField(default=False)
    trouble = models.TextField(blank=True)
    result = models.JSONField(default=dict)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["key"],
                condition=Q(state__in=["waiting", "running"]),
                name="job_once_a_key_while_open",
            ),
            models.CheckConstraint(
                condition=Q(total=0) | Q(done__lte=F("total")), name="job_does_no_more_than_all"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind}: {self.state}"

    @property
    def is_open(self) -> bool:
        return self.state in {self.State.WAITING, self.State.RUNNING}


class Document(models.Model):
    """A paper about something; its contents are in its revisions."""

    kind = models.CharField(max_length=60)
    title = models.CharField(max_length=200)
    about_kind = models.CharField(max_length=60)
    about_id = models.BigIntegerField()
    for_customer = models.BooleanField(default=False)

    class Meta:
        indexes: ClassVar = [models.Index(fields=["about_kind", "about_id"])]

    def __str__(self) -> str:
        return self.title


class Revision(models.Model):
    """One issue of a document, kept as it was; never changed (a trigger refuses).

    The bytes live in the database so that one backup holds everything.
    """

    document = models.ForeignKey(Document, on_delete=models.PROTECT, related_name="revisions")
    number = models.CharField(max_length=20)
    file_name = models.CharField(max_length=200)
    content_type = models.CharField(max_length=100)
    sha256 = models.CharField(max_length=64)
    content = models.BinaryField()
    by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT)
    at = models.DateTimeField()

    class Meta:
        ordering = ("-id",)
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["document", "number"], name="revision_number_once_a_document"
            )
        ]

    def __str__(self) -> str:
        return f"{self.document} rev {self.number}"

    def get_absolute_url(self) -> str:
        return reverse("works:revision", args=[self.pk])


class StandardValue(models.Model):
    """One row of a standard's table, with how sure it is and who checked it against a copy."""

    table = models.CharField(max_length=60)
    position = models.PositiveIntegerField(help_text="in its table")
    key = models.CharField(max_length=250)
    standard = models.CharField(max_length=80)
    edition = models.CharField(max_length=40, blank=True)
    clause = models.CharField(max_length=120, blank=True)
    name = models.CharField(max_length=120)
    value = models.JSONField(default=dict)
    certainty = models.CharField(max_length=20, choices=[(c.value, c.value) for c in Certainty])
    column_certainty = models.JSONField(default=dict, blank=True)
    source = models.TextField(blank=True)
    note = models.TextField(blank=True)
    checked_by = models.ForeignKey(Person, null=True, blank=True, on_delete=models.PROTECT)
    checked_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ("table", "position")
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["table", "key"], name="standard_value_once_a_table"),
            models.CheckConstraint(
                condition=Q(checked_by=None, checked_on=None)
                | Q(checked_by__isnull=False, checked_on__isnull=False),
                name="standard_value_check_names_person_and_day",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.table}: {self.name}"

    @property
    def is_sure(self) -> bool:
        """True when a verdict may rest on it without saying so."""
        return self.checked_on is not None or self.certainty == Certainty.CONFIRMED


class AlertQuerySet(models.QuerySet["Alert"]):
    def open(self) -> "AlertQuerySet":
        return self.filter(closed_at=None)


class Alert(models.Model):
    """Something that somebody must decide; one open alert a cause."""

    class Level(models.IntegerChoices):
        NOTICE = 1, "notice"
        WARNING = 2, "warning"
        URGENT = 3, "urgent"

    cause = models.CharField(max_length=120, help_text="rule and what it is about")
    rule = models.CharField(max_length=60)
    level = models.PositiveSmallIntegerField(choices=Level.choices)
    about_kind = models.CharField(max_length=60)
    about_id = models.BigIntegerField()
    about_label = models.CharField(max_length=200)
    url = models.CharField(max_length=200, blank=True)
    sentence = models.TextField()
    figure = models.FloatField(null=True, help_text="what the rule measured, e.g. days late")
    opened_at = models.DateTimeField()
    escalated_at = models.DateTimeField(null=True)
    acknowledged_by = models.ForeignKey(Person, null=True, on_delete=models.PROTECT)
    acknowledged_at = models.DateTimeField(null=True)
    closed_at = models.DateTimeField(null=True)

    objects = AlertQuerySet.as_manager()

    class Meta:
        ordering = ("-level", "opened_at")
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["cause"],
                condition=Q(closed_at=None),
                name="alert_open_once_a_cause",
            ),
            models.CheckConstraint(
                condition=Q(closed_at=None) | Q(closed_at__gte=F("opened_at")),
                name="alert_closes_after_it_opens",
            ),
        ]
        indexes: ClassVar = [models.Index(fields=["about_kind", "about_id"])]

    def __str__(self) -> str:
        return self.sentence
