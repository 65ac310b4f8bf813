"""The journal, the files and their read model, and the triggers that make the first two append-only."""

from typing import Any

from django.db import migrations, models

KEPT = ("store_entry", "store_storedfile")

SQLITE_UP = """
CREATE TRIGGER {table}_no_update BEFORE UPDATE ON {table}
BEGIN SELECT RAISE(ABORT, 'the journal only grows: write a correction'); END;
CREATE TRIGGER {table}_no_delete BEFORE DELETE ON {table}
BEGIN SELECT RAISE(ABORT, 'the journal only grows: write a correction'); END;
"""
SQLITE_DOWN = """
DROP TRIGGER {table}_no_update;
DROP TRIGGER {table}_no_delete;
"""
# Row triggers for change and removal, because a statement trigger would also refuse a restore that changes no row;
# emptying a table touches no row, so that one is a statement trigger.
POSTGRES_FUNCTION = """
CREATE FUNCTION store_only_grows() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN RAISE EXCEPTION 'the journal only grows: write a correction'; END $$;
"""
POSTGRES_UP = """
CREATE TRIGGER {table}_no_change BEFORE UPDATE OR DELETE ON {table}
FOR EACH ROW EXECUTE FUNCTION store_only_grows();
CREATE TRIGGER {table}_no_emptying BEFORE TRUNCATE ON {table}
FOR EACH STATEMENT EXECUTE FUNCTION store_only_grows();
"""
POSTGRES_DOWN = """
DROP TRIGGER {table}_no_change ON {table};
DROP TRIGGER {table}_no_emptying ON {table};
"""


def close(apps: Any, schema_editor: Any) -> None:
    connection = schema_editor.connection
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(POSTGRES_FUNCTION)
        for table in KEPT:
            if connection.vendor == "postgresql":
                cursor.execute(POSTGRES_UP.format(table=table))
            else:
                # The driver takes one statement at a time, and a trigger holds a semicolon of its own.
                for statement in SQLITE_UP.format(table=table).strip().split("END;"):
                    if statement.strip():
                        cursor.execute(statement + "END;")


def reopen(apps: Any, schema_editor: Any) -> None:
    connection = schema_editor.connection
    with connection.cursor() as cursor:
        for table in KEPT:
            down = POSTGRES_DOWN if connection.vendor == "postgresql" else SQLITE_DOWN
            for statement in down.format(table=table).strip().split(";"):
                if statement.strip():
                    cursor.execute(statement)
        if connection.vendor == "postgresql":
            cursor.execute("DROP FUNCTION store_only_grows()")


class Migration(migrations.Migration):
    initial = True
    dependencies = []
    operations = [
        migrations.CreateModel(
            name="AircraftRow",
            fields=[
                ("aircraft", models.CharField(max_length=60, primary_key=True, serialize=False)),
                ("name", models.CharField(max_length=200)),
                ("invented", models.BooleanField(default=False)),
                ("head", models.CharField(max_length=64)),
                ("length", models.PositiveIntegerField()),
                ("last_at", models.CharField(max_length=40)),
            ],
            options={"ordering": ["name", "aircraft"]},
        ),
        migrations.CreateModel(
            name="StoredFile",
            fields=[
                ("digest", models.CharField(max_length=64, primary_key=True, serialize=False)),
                ("size", models.PositiveBigIntegerField()),
                ("media_type", models.CharField(max_length=100)),
                ("kept_at", models.CharField(max_length=40)),
            ],
        ),
        migrations.CreateModel(
            name="Entry",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("aircraft", models.CharField(max_length=60)),
                ("position", models.PositiveIntegerField()),
                ("kind", models.CharField(max_length=40)),
                ("schema_version", models.PositiveSmallIntegerField()),
                ("text", models.TextField()),
                ("prev_digest", models.CharField(blank=True, max_length=64)),
                ("digest", models.CharField(max_length=64, unique=True)),
                ("author", models.CharField(max_length=200)),
                ("at", models.CharField(max_length=40)),
            ],
            options={"ordering": ["aircraft", "position"]},
        ),
        migrations.AddConstraint(
            model_name="entry",
            constraint=models.UniqueConstraint(fields=("aircraft", "prev_digest"), name="one_follower"),
        ),
        migrations.AddConstraint(
            model_name="entry",
            constraint=models.UniqueConstraint(fields=("aircraft", "position"), name="one_position"),
        ),
        migrations.RunPython(close, reopen),
    ]
