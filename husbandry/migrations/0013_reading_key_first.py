"""Early tables of readings had their key last, which SQLite 3.40's quick_check takes for damage. Put it first."""

from django.db import migrations

OLD = '"husbandry_reading_old"'
COLUMNS = '"sensor_id", "at", "celsius", "humidity", "batch_id"'


def put_the_key_first(apps, schema_editor):
    if schema_editor.connection.vendor != "sqlite":
        return
    with schema_editor.connection.cursor() as cursor:
        cursor.execute('PRAGMA table_info("husbandry_reading")')
        if cursor.fetchone()[1] == "sensor_id":
            return
    sql, params = schema_editor.table_sql(apps.get_model("husbandry", "Reading"))
    schema_editor.execute(f'ALTER TABLE "husbandry_reading" RENAME TO {OLD}')
    schema_editor.execute(f"{sql} WITHOUT ROWID", params or None)
    schema_editor.execute(f'INSERT INTO "husbandry_reading" ({COLUMNS}) SELECT {COLUMNS} FROM {OLD}')
    schema_editor.execute(f"DROP TABLE {OLD}")


class Migration(migrations.Migration):
    dependencies = [("husbandry", "0012_reading_batches")]
    operations = [migrations.RunPython(put_the_key_first, migrations.RunPython.noop)]
