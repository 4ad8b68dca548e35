"""Rules the database holds by itself, beyond what Django's constraints can say.

Installed after every migration, not in one: SQLite loses a table's triggers whenever Django remakes the table.
The same rules on both databases: links stay inside one farm; a batch never has fewer than no birds, an egg set
never more results than eggs, an order line never more birds than it asks for; two batches never share a housing
that takes one at a time (PostgreSQL: exclusion constraint).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
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
    ("farm_eggset", "programme_version_id", "farm_programmeversion"),
    ("farm_eggset", "setter_id", "farm_machine"),
    ("farm_eggset", "hatcher_id", "farm_machine"),
    ("farm_eggset", "batch_id", "farm_batch"),
    ("farm_eggentry", "egg_set_id", "farm_eggset"),
    ("farm_eggentry", "member_id", "farm_member"),
    ("farm_intake", "supplier_id", "farm_supplier"),
    ("farm_intake", "programme_version_id", "farm_programmeversion"),
    ("farm_intake", "batch_id", "farm_batch"),
    ("farm_orderseries", "programme_id", "farm_rearingprogramme"),
    ("farm_order", "series_id", "farm_orderseries"),
    ("farm_orderline", "order_id", "farm_order"),
    ("farm_orderline", "programme_id", "farm_rearingprogramme"),
    ("farm_filling", "line_id", "farm_orderline"),
    ("farm_filling", "batch_id", "farm_batch"),
    ("farm_filling", "count_entry_id", "farm_countentry"),
    ("farm_filling", "member_id", "farm_member"),
    ("farm_hold", "batch_id", "farm_batch"),
    ("farm_settingproposal", "made_by_id", "farm_member"),
    ("farm_settingproposal", "adoption_id", "farm_historyentry"),
    ("farm_lineodds", "line_id", "farm_orderline"),
    ("farm_feedentry", "feed_id", "farm_feed"),
    ("farm_feedentry", "member_id", "farm_member"),
    ("farm_waitingtime", "batch_id", "farm_batch"),
    ("farm_alert", "batch_id", "farm_batch"),
    ("farm_alert", "housing_id", "farm_housing"),
    ("farm_away", "member_id", "farm_member"),
    ("farm_personallink", "member_id", "farm_member"),
    ("farm_markphoto", "mark_id", "farm_choremark"),
    ("farm_ownchore", "housing_id", "farm_housing"),
    ("farm_assignment", "member_id", "farm_member"),
    ("farm_pin", "member_id", "farm_member"),
    ("farm_postponement", "member_id", "farm_member"),
    ("farm_swap", "giver_id", "farm_member"),
    ("farm_swap", "taker_id", "farm_member"),
    ("farm_channel", "member_id", "farm_member"),
    ("farm_reminderwishes", "member_id", "farm_member"),
    ("farm_notice", "member_id", "farm_member"),
    ("farm_delivery", "notice_id", "farm_notice"),
    ("farm_delivery", "channel_id", "farm_channel"),
)
OTHER_FARM = "these two belong to different farms"
BELOW_ZERO = "a batch cannot have fewer than no birds"
ONE_BATCH = "this housing takes one batch at a time"
TOO_MANY_EGGS = "an egg set cannot have more results than eggs"
TOO_MANY_CULLED = "no more chicks can be culled than hatched"
NO_SUCH_FEED = "there cannot be less than no feed in the store"
OVERFILLED = "an order line cannot get more birds than it asks for"


@dataclass(frozen=True)
class Sum:
    """What no sum of rows may come to. broken: SQL on the row just written, NEW, that both databases understand."""

    name: str
    table: str
    broken: str
    says: str


def _eggs(egg_set: str, of: str) -> str:
    return f"(SELECT COALESCE(SUM(eggs), 0) FROM farm_eggentry WHERE egg_set_id = {egg_set} AND kind {of})"


CULLED, NOT_CULLED, HATCHED = "= 'culled'", "<> 'culled'", "= 'hatched'"
_FILLED = "(SELECT COALESCE(SUM(birds), 0) FROM farm_filling WHERE line_id = "
SUMS = (
    Sum(
        "countentry_not_below_zero",
        "farm_countentry",
        "(SELECT SUM(birds) FROM farm_countentry WHERE batch_id = NEW.batch_id) < 0",
        BELOW_ZERO,
    ),
    Sum(
        "eggentry_within_eggs",
        "farm_eggentry",
        f"{_eggs('NEW.egg_set_id', NOT_CULLED)} > (SELECT eggs FROM farm_eggset WHERE id = NEW.egg_set_id)",
        TOO_MANY_EGGS,
    ),
    Sum("eggset_within_eggs", "farm_eggset", f"{_eggs('NEW.id', NOT_CULLED)} > NEW.eggs", TOO_MANY_EGGS),
    Sum(
        "eggentry_culled_hatched",
        "farm_eggentry",
        f"{_eggs('NEW.egg_set_id', CULLED)} > {_eggs('NEW.egg_set_id', HATCHED)}",
        TOO_MANY_CULLED,
    ),
    Sum(
        "filling_within_line",
        "farm_filling",
        f"{_FILLED}NEW.line_id) > (SELECT birds FROM farm_orderline WHERE id = NEW.line_id)",
        OVERFILLED,
    ),
    Sum(
        "feedentry_not_below_zero",
        "farm_feedentry",
        "(SELECT SUM(grams) FROM farm_feedentry WHERE feed_id = NEW.feed_id) < 0",
        NO_SUCH_FEED,
    ),
    Sum("orderline_within_line", "farm_orderline", f"{_FILLED}NEW.id) > NEW.birds", OVERFILLED),
)


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
    for total in SUMS:
        body = f"SELECT RAISE(ABORT, '{total.says}') WHERE {total.broken}"
        for event in ("INSERT", "UPDATE"):
            yield from _trigger(f"{total.name}_{event.lower()}", event, total.table, body, "AFTER")
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
    for rule in SUMS:
        yield f"""
            CREATE OR REPLACE FUNCTION featherdays_{rule.name}() RETURNS trigger LANGUAGE plpgsql AS $$
            BEGIN
                IF {rule.broken} THEN
                    RAISE EXCEPTION '{rule.says}' USING ERRCODE = 'integrity_constraint_violation';
                END IF;
                RETURN NEW;
            END $$"""
        yield f"DROP TRIGGER IF EXISTS {rule.name} ON {rule.table}"
        yield (
            f"CREATE TRIGGER {rule.name} AFTER INSERT OR UPDATE ON {rule.table} FOR EACH ROW"
            f" EXECUTE FUNCTION featherdays_{rule.name}()"
        )
    # Ships with PostgreSQL; the database's owner may create it. It lets = and && stand in one exclusion.
    yield "CREATE EXTENSION IF NOT EXISTS btree_gist"
    yield "ALTER TABLE farm_stay DROP CONSTRAINT IF EXISTS stay_one_batch"
    yield """
        ALTER TABLE farm_stay ADD CONSTRAINT stay_one_batch EXCLUDE USING gist
        (housing_id WITH =, batch_id WITH <>, daterange(start, "end") WITH &&) WHERE (one_batch)"""
