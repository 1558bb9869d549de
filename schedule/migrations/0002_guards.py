"""What the floor may not do, refused by the database itself.

An operation does not start while a gate before it, or a gate after one of its predecessors, is
open; it does not finish while a gate during it is open; a route has no cycle; a report and the
revision of a route never change.
"""

from typing import ClassVar

from django.db import migrations

from works.guards import frozen, thawed

GATES = """
CREATE FUNCTION greensand_operation_respects_gates() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    hindrance text;
BEGIN
    IF NEW.started_at IS NOT NULL AND OLD.started_at IS NULL THEN
        SELECT g.reason INTO hindrance FROM schedule_gate g
        WHERE g.withdrawn_at IS NULL AND g.cleared_at IS NULL AND g.at_risk_at IS NULL
          AND ((g.operation_id = NEW.id AND g.timing = 'before')
            OR (g.timing = 'after' AND g.operation_id IN
                (SELECT before_id FROM schedule_link WHERE after_id = NEW.id)))
        LIMIT 1;
        IF FOUND THEN
            RAISE EXCEPTION 'operation % may not start: gate open (%)', NEW.id, hindrance
                USING ERRCODE = 'restrict_violation';
        END IF;
    END IF;
    IF NEW.finished_at IS NOT NULL AND OLD.finished_at IS NULL THEN
        SELECT g.reason INTO hindrance FROM schedule_gate g
        WHERE g.operation_id = NEW.id AND g.timing = 'during'
          AND g.withdrawn_at IS NULL AND g.cleared_at IS NULL AND g.at_risk_at IS NULL
        LIMIT 1;
        IF FOUND THEN
            RAISE EXCEPTION 'operation % may not finish: gate open (%)', NEW.id, hindrance
                USING ERRCODE = 'restrict_violation';
        END IF;
    END IF;
    RETURN NEW;
END $$;
-- Only these two columns matter: a reforecast rewrites thousands of rows and none of them.
CREATE TRIGGER schedule_operation_respects_gates
BEFORE UPDATE OF started_at, finished_at ON schedule_operation
FOR EACH ROW EXECUTE FUNCTION greensand_operation_respects_gates();
"""
NO_GATES = """
DROP TRIGGER schedule_operation_respects_gates ON schedule_operation;
DROP FUNCTION greensand_operation_respects_gates();
"""
CYCLES = """
CREATE FUNCTION greensand_route_has_no_cycle() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    culprit bigint;
BEGIN
    IF EXISTS (
        SELECT 1 FROM fresh f
        JOIN schedule_operation b ON b.id = f.before_id
        JOIN schedule_operation a ON a.id = f.after_id
        WHERE a.route_id <> b.route_id
    ) THEN
        RAISE EXCEPTION 'a link joins operations of one route'
            USING ERRCODE = 'restrict_violation';
    END IF;
    -- From each fresh link's end onward: reaching its beginning closes a ring.
    WITH RECURSIVE onward(origin, id) AS (
        SELECT DISTINCT before_id, after_id FROM fresh
        UNION
        SELECT o.origin, l.after_id FROM schedule_link l JOIN onward o ON l.before_id = o.id
    )
    SELECT origin INTO culprit FROM onward WHERE origin = id LIMIT 1;
    IF FOUND THEN
        RAISE EXCEPTION 'operation % would wait for itself', culprit
            USING ERRCODE = 'restrict_violation';
    END IF;
    RETURN NULL;
END $$;
CREATE TRIGGER schedule_route_has_no_cycle AFTER INSERT ON schedule_link
REFERENCING NEW TABLE AS fresh
FOR EACH STATEMENT EXECUTE FUNCTION greensand_route_has_no_cycle();
"""
MAY_CYCLE = """
DROP TRIGGER schedule_route_has_no_cycle ON schedule_link;
DROP FUNCTION greensand_route_has_no_cycle();
"""


class Migration(migrations.Migration):
    dependencies: ClassVar = [("schedule", "0001_initial"), ("works", "0002_guards")]
    operations: ClassVar = [
        migrations.RunSQL(GATES, NO_GATES),
        migrations.RunSQL(CYCLES, MAY_CYCLE),
        migrations.RunSQL(frozen("schedule_progress"), thawed("schedule_progress")),
        migrations.RunSQL(frozen("schedule_routerevision"), thawed("schedule_routerevision")),
    ]
