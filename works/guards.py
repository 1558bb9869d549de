"""SQL for migrations: triggers that refuse what no application code may do."""

FROZEN = """
CREATE OR REPLACE FUNCTION greensand_refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION '% rows never change; a correction is a new row', TG_TABLE_NAME
        USING ERRCODE = 'restrict_violation';
END $$;
"""


def frozen(table: str, *, when: str = "") -> str:
    """SQL that makes a table's rows unchangeable, or only those that `when` (on OLD) is true of."""
    condition = f"WHEN ({when})" if when else ""
    return f"""
CREATE TRIGGER {table}_frozen BEFORE UPDATE OR DELETE ON {table}
FOR EACH ROW {condition} EXECUTE FUNCTION greensand_refuse_change();
"""


def thawed(table: str) -> str:
    """SQL that takes the trigger away again."""
    return f"DROP TRIGGER IF EXISTS {table}_frozen ON {table};"
