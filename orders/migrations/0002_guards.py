"""Issued status reports and published dates never change; a new one stands beside the old."""

from typing import ClassVar

from django.db import migrations

from works.guards import frozen, thawed


class Migration(migrations.Migration):
    dependencies: ClassVar = [("orders", "0001_initial"), ("works", "0002_guards")]
    operations: ClassVar = [
        migrations.RunSQL(frozen("orders_statusreport"), thawed("orders_statusreport")),
        migrations.RunSQL(frozen("orders_publisheddate"), thawed("orders_publisheddate")),
    ]
