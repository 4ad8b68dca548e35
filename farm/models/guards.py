"""Rules the database holds by itself, beyond what Django's constraints can say.

Installed after every migration, not in one: SQLite loses a table's triggers whenever Django remakes the table.
Three rules, the same on both databases: links stay inside one farm; a batch never has fewer than no birds; two
batches never share a housing that takes one at a time (PostgreSQL: exclusion constraint).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

#: table, column, table it points to
LINKS = (
    ("farm_batch", "programme_version_id", "farm_programmeversion"),
    ("farm_programmeversion", "programme_id", "farm_rearingprogramme"),
    ("farm_countentry", "batch_id", "farm_batch"),
    ("farm_countentry", "housing_id", "farm_housing"),
    ("farm_countentry", "member_id", "farm_member"),
    ("farm_stay", "batch_id", "farm_batch"),
    ("farm_stay", "housing_id", "farm_housing"),
    ("farm_observation", "batch_id", "farm_batch"),
    ("farm_observation", "housing_id", "farm_housing"),
    ("farm_observation", "member_id", "farm_member"),
    ("farm_choremark", "member_id", "farm_member"),
    ("farm_historyentry", "member_id", "farm_member"),
    ("farm_invitation", "member_id", "farm_member"),
    ("farm_plan", "made_by_id", "farm_member"),
    ("farm_plan", "adoption_id", "farm_historyentry"),
)
OTHER_FARM = "these two belong to different farms"
BELOW_ZERO = "a batch cannot have fewer than no birds"
ONE_BATCH = "this housing takes one batch at a time"


def install(connection: Any) -> None:
    """Install or renew the guards on a database connection of either vendor."""
    make = _postgresql if connection.vendor == "postgresql" else _sqlite
    with connection.cursor() as cursor:
        for statement in make():
            cursor.execute(statement)


def _sqlite() -> Iterator[str]:
    for table, column, target in LINKS:
        rule = (
            f"SELECT RAISE(ABORT, '{OTHER_FARM}') WHERE NEW.{column} IS NOT NULL"
            f" AND (SELECT farm_id FROM {target} WHERE id = NEW.{column}) IS NOT NEW.farm_id"
        )
        yield from _trigger(f"{table}_{column}_farm", "INSERT", table, rule)
        yield from _trigger(f"{table}_{column}_farm_update", f"UPDATE OF {column}, farm_id", table, rule)
    below = (
        f"SELECT RAISE(ABORT, '{BELOW_ZERO}')"
        " WHERE (SELECT SUM(birds) FROM farm_countentry WHERE batch_id = NEW.batch_id) < 0"
    )
    for event in ("INSERT", "UPDATE"):
        yield from _trigger(
            f"countentry_not_below_zero_{event.lower()}", event, "farm_countentry", below, "AFTER"
        )
    shared = (
        f"SELECT RAISE(ABORT, '{ONE_BATCH}') WHERE NEW.one_batch AND EXISTS (SELECT 1 FROM farm_stay s"
        " WHERE s.housing_id = NEW.housing_id AND s.batch_id <> NEW.batch_id AND s.id IS NOT NEW.id AND s.one_batch"
        ' AND (s."end" IS NULL OR s."end" > NEW.start) AND (NEW."end" IS NULL OR NEW."end" > s.start))'
    )
    for event in ("INSERT", "UPDATE"):
        yield from _trigger(f"stay_one_batch_{event.lower()}", event, "farm_stay", shared)


def _trigger(name: str, event: str, table: str, body: str, when: str = "BEFORE") -> Iterator[str]:
    yield f"DROP TRIGGER IF EXISTS {name}"
    yield f"CREATE TRIGGER {name} {when} {event} ON {table} FOR EACH ROW BEGIN {body}; END"


def _postgresql() -> Iterator[str]:
    yield f"""
        CREATE OR REPLACE FUNCTION featherdays_same_farm() RETURNS trigger LANGUAGE plpgsql AS $$
        DECLARE theirs bigint; link bigint;
        BEGIN
            EXECUTE format('SELECT ($1).%I', TG_ARGV[0]) INTO link USING NEW;
            IF link IS NOT NULL THEN
                EXECUTE format('SELECT farm_id FROM %I WHERE id = $1', TG_ARGV[1]) INTO theirs USING link;
                IF theirs IS DISTINCT FROM NEW.farm_id THEN
                    RAISE EXCEPTION '{OTHER_FARM}' USING ERRCODE = 'integrity_constraint_violation';
                END IF;
            END IF;
            RETURN NEW;
        END $$"""
    for table, column, target in LINKS:
        yield f"DROP TRIGGER IF EXISTS {table}_{column}_farm ON {table}"
        yield (
            f"CREATE TRIGGER {table}_{column}_farm BEFORE INSERT OR UPDATE ON {table} FOR EACH ROW"
            f" EXECUTE FUNCTION featherdays_same_farm('{column}', '{target}')"
        )
    yield f"""
        CREATE OR REPLACE FUNCTION featherdays_not_below_zero() RETURNS trigger LANGUAGE plpgsql AS $$
        BEGIN
            IF (SELECT SUM(birds) FROM farm_countentry WHERE batch_id = NEW.batch_id) < 0 THEN
                RAISE EXCEPTION '{BELOW_ZERO}' USING ERRCODE = 'integrity_constraint_violation';
            END IF;
            RETURN NEW;
        END $$"""
    yield "DROP TRIGGER IF EXISTS countentry_not_below_zero ON farm_countentry"
    yield (
        "CREATE TRIGGER countentry_not_below_zero AFTER INSERT OR UPDATE ON farm_countentry FOR EACH ROW"
        " EXECUTE FUNCTION featherdays_not_below_zero()"
    )
    # Ships with PostgreSQL; the database's owner may create it. It lets = and && stand in one exclusion.
    yield "CREATE EXTENSION IF NOT EXISTS btree_gist"
    yield "ALTER TABLE farm_stay DROP CONSTRAINT IF EXISTS stay_one_batch"
    yield """
        ALTER TABLE farm_stay ADD CONSTRAINT stay_one_batch EXCLUDE USING gist
        (housing_id WITH =, batch_id WITH <>, daterange(start, "end") WITH &&) WHERE (one_batch)"""
