"""Events and revisions never change; the outbox wakes the relay."""

from typing import ClassVar

from django.db import migrations

from works.guards import FROZEN, frozen, thawed

NOTIFY = """
CREATE FUNCTION greensand_wake_relay() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM pg_notify('outbox', '');
    RETURN NULL;
END $$;
CREATE TRIGGER works_outbox_wakes_relay AFTER INSERT ON works_outbox
FOR EACH STATEMENT EXECUTE FUNCTION greensand_wake_relay();
"""
SILENCE = """
DROP TRIGGER works_outbox_wakes_relay ON works_outbox;
DROP FUNCTION greensand_wake_relay();
"""


class Migration(migrations.Migration):
    dependencies: ClassVar = [("works", "0001_initial")]
    operations: ClassVar = [
        migrations.RunSQL(FROZEN, "DROP FUNCTION greensand_refuse_change();"),
        migrations.RunSQL(frozen("works_event"), thawed("works_event")),
        migrations.RunSQL(frozen("works_revision"), thawed("works_revision")),
        migrations.RunSQL(NOTIFY, SILENCE),
    ]
