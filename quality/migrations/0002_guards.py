"""Releases, calibrations, signed records and written answers never change."""

from typing import ClassVar

from django.db import migrations

from works.guards import frozen, thawed

RECORDS = (
    "quality_pressuretest",
    "quality_performancetest",
    "quality_sealtest",
    "quality_measurement",
)


class Migration(migrations.Migration):
    dependencies: ClassVar = [("quality", "0001_initial"), ("works", "0002_guards")]
    operations: ClassVar = [
        migrations.RunSQL(frozen("quality_release"), thawed("quality_release")),
        migrations.RunSQL(frozen("quality_calibration"), thawed("quality_calibration")),
        migrations.RunSQL(
            frozen("quality_concession", when="OLD.answer <> ''"), thawed("quality_concession")
        ),
        *(
            migrations.RunSQL(frozen(table, when="OLD.signed_at IS NOT NULL"), thawed(table))
            for table in RECORDS
        ),
    ]
