"""New code and the code before it run at once while an installation is renewed: a migration must suit both.

What it may not do in one release is in DEVELOPERS.md, "Running it for many". Judged are migrations after the ones
named; before them nobody ran two versions at once.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from django.db import migrations, models
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.operations.base import Operation
from django.db.migrations.state import ProjectState
from django.db.models.fields import NOT_PROVIDED

#: The last migration of each of our apps that is not judged; an app that is not named is judged from its first.
AFTER = {"farm": "0010", "calendars": "0005"}
OURS = ("farm", "calendars", "api", "tasks")
#: (app, migration, what is said of it) -> why it is safe all the same.
ALLOWED: dict[tuple[str, str, str], str] = {}


def judged() -> Iterator[tuple[str, str, migrations.Migration, ProjectState]]:
    """Yield app, name, migration and the state before it."""
    loader = MigrationLoader(None)
    for app, name in sorted(loader.disk_migrations):
        if app in OURS and name[:4] > AFTER.get(app, "0000"):
            before = loader.project_state([(app, name)], at_end=False)
            yield app, name, loader.disk_migrations[(app, name)], before


def problems(app: str, operations: list[Operation], before: ProjectState) -> list[str]:
    """Return what code of the release before would stumble over."""
    found, state, new = [], before.clone(), set()
    for operation in operations:
        model = getattr(operation, "model_name_lower", getattr(operation, "name_lower", ""))
        if isinstance(operation, migrations.CreateModel):
            new.add(operation.name_lower)
        elif model not in new:  # nobody knows a table that is made by this very migration
            found += [*_of(app, operation, state)]
        operation.state_forwards(app, state)
    return found


def _of(app: str, operation: Operation, state: ProjectState) -> Iterator[str]:
    match operation:
        case migrations.SeparateDatabaseAndState():
            yield from problems(app, operation.database_operations, state)
        case migrations.RemoveField() | migrations.RenameField():
            field = getattr(operation, "name", getattr(operation, "old_name", ""))
            yield f"takes {operation.model_name}.{field} away"
        case migrations.DeleteModel() | migrations.RenameModel():
            yield f"takes {getattr(operation, 'name', getattr(operation, 'old_name', ''))} away"
        case migrations.AlterModelTable():
            yield f"takes the table of {operation.name} away"
        case migrations.AddField() if _must_be_given(operation.field):
            yield f"{operation.model_name}.{operation.name} must be given, and older code does not"
        case migrations.AlterField():
            yield from _altered(app, operation, state)
        case migrations.RunSQL():
            yield "runs SQL, which nobody judges here"


def _must_be_given(field: models.Field) -> bool:
    """Whether an INSERT that does not name the column fails: Django's own default is not the database's."""
    if field.many_to_many or isinstance(field, models.GeneratedField):
        return False
    return not field.null and field.db_default is NOT_PROVIDED


def _altered(app: str, operation: migrations.AlterField, state: ProjectState) -> Iterator[str]:
    old = state.models[app, operation.model_name_lower].fields[operation.name]
    new, place = operation.field, f"{operation.model_name}.{operation.name}"
    if old.null and not new.null:
        yield f"{place} must be given, and older code does not"
    if old.get_internal_type() != new.get_internal_type():
        yield f"{place} becomes another type"
    if (old.max_length or 0) > (new.max_length or 10**9):
        yield f"{place} becomes shorter"
    if (old.db_column or operation.name) != (new.db_column or operation.name):
        yield f"takes {place} away"
    if new.unique and not old.unique:
        yield f"{place} becomes unique"


def test_every_migration_suits_the_code_before_it():
    found = {
        (app, name, problem)
        for app, name, migration, before in judged()
        for problem in problems(app, migration.operations, before)
    }
    assert found == set(ALLOWED)


# The judge itself is judged: each of these must be found, or must pass.

BEFORE = [
    migrations.CreateModel(
        "Coop",
        [
            ("id", models.BigAutoField(primary_key=True)),
            ("name", models.CharField(max_length=20)),
            ("note", models.CharField(max_length=20, null=True)),
        ],
    )
]


def said(*operations):
    state = ProjectState()
    for each in BEFORE:
        each.state_forwards("farm", state)
    return problems("farm", list(operations), state)


@pytest.mark.parametrize(
    "operation, words",
    [
        (migrations.RemoveField("coop", "name"), ["takes coop.name away"]),
        (migrations.RenameField("coop", "name", "title"), ["takes coop.name away"]),
        (migrations.DeleteModel("Coop"), ["takes Coop away"]),
        (migrations.RenameModel("Coop", "House"), ["takes Coop away"]),
        (migrations.AlterModelTable("coop", "house"), ["takes the table of coop away"]),
        (
            migrations.AddField("coop", "size", models.IntegerField(default=1)),
            ["coop.size must be given, and older code does not"],
        ),
        (
            migrations.AlterField("coop", "note", models.CharField(max_length=20)),
            ["coop.note must be given, and older code does not"],
        ),
        (migrations.AlterField("coop", "name", models.TextField()), ["coop.name becomes another type"]),
        (
            migrations.AlterField("coop", "name", models.CharField(max_length=9)),
            ["coop.name becomes shorter"],
        ),
        (
            migrations.AlterField("coop", "name", models.CharField(max_length=20, unique=True)),
            ["coop.name becomes unique"],
        ),
        (
            migrations.AlterField("coop", "name", models.CharField(max_length=20, db_column="title")),
            ["takes coop.name away"],
        ),
        (migrations.RunSQL("DROP TABLE farm_coop"), ["runs SQL, which nobody judges here"]),
        (
            migrations.SeparateDatabaseAndState([migrations.RemoveField("coop", "name")]),
            ["takes coop.name away"],
        ),
    ],
    ids=lambda value: type(value).__name__ if isinstance(value, Operation) else "",
)
def test_what_older_code_would_stumble_over_is_found(operation, words):
    assert said(operation) == words


@pytest.mark.parametrize(
    "operation",
    [
        migrations.AddField("coop", "size", models.IntegerField(null=True)),
        migrations.AddField("coop", "size", models.IntegerField(db_default=1)),
        migrations.AddField("coop", "mates", models.ManyToManyField("self")),
        migrations.AlterField("coop", "name", models.CharField(max_length=40, null=True)),
        migrations.AddIndex("coop", models.Index(fields=["name"], name="coop_name")),
    ],
    ids=lambda value: type(value).__name__,
)
def test_what_older_code_does_not_notice_passes(operation):
    assert said(operation) == []


def test_a_table_that_the_same_migration_makes_may_be_shaped_as_one_likes():
    made = migrations.CreateModel("Run", [("id", models.BigAutoField(primary_key=True))])
    assert said(made, migrations.AddField("run", "size", models.IntegerField(default=1))) == []
