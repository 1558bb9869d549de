"""A frozen choice never changes."""

from typing import ClassVar

from django.db import migrations

from works.guards import frozen, thawed


class Migration(migrations.Migration):
    dependencies: ClassVar = [("selection", "0001_initial"), ("works", "0002_guards")]
    operations: ClassVar = [
        migrations.RunSQL(frozen("selection_choice"), thawed("selection_choice")),
    ]
