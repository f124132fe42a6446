from typing import Any

from django.db import migrations, models

SQLITE = (
    """
    CREATE VIRTUAL TABLE search_text USING fts5(
        title_words, body_words,
        content = 'search_searchentry', content_rowid = 'id',
        tokenize = "ascii tokenchars '?*.,/+-'", prefix = '1 2 3'
    )
    """,
    # A word in the title counts four times as much as one below it.
    "INSERT INTO search_text(search_text, rank) VALUES ('rank', 'bm25(4.0, 1.0)')",
    """
    CREATE TRIGGER search_text_in AFTER INSERT ON search_searchentry BEGIN
        INSERT INTO search_text(rowid, title_words, body_words) VALUES (new.id, new.title_words, new.body_words);
    END
    """,
    """
    CREATE TRIGGER search_text_out AFTER DELETE ON search_searchentry BEGIN
        INSERT INTO search_text(search_text, rowid, title_words, body_words)
            VALUES ('delete', old.id, old.title_words, old.body_words);
    END
    """,
    """
    CREATE TRIGGER search_text_changed AFTER UPDATE ON search_searchentry BEGIN
        INSERT INTO search_text(search_text, rowid, title_words, body_words)
            VALUES ('delete', old.id, old.title_words, old.body_words);
        INSERT INTO search_text(rowid, title_words, body_words) VALUES (new.id, new.title_words, new.body_words);
    END
    """,
)
SQLITE_BACK = ("DROP TABLE search_text",)

POSTGRESQL = (
    # The words are cut already, the same way as for SQLite, so no dictionary looks at them.
    """
    ALTER TABLE search_searchentry
        ADD COLUMN title_vector tsvector
            GENERATED ALWAYS AS (array_to_tsvector(string_to_array(title_words, ' '))) STORED,
        ADD COLUMN vector tsvector
            GENERATED ALWAYS AS (array_to_tsvector(string_to_array(title_words, ' ') ||
                                                   string_to_array(body_words, ' '))) STORED
    """,
    "CREATE INDEX search_vector ON search_searchentry USING gin (vector)",
)
POSTGRESQL_BACK = ("ALTER TABLE search_searchentry DROP COLUMN vector, DROP COLUMN title_vector",)


def _run(schema_editor: Any, sqlite: tuple[str, ...], postgresql: tuple[str, ...]) -> None:
    statements = {"sqlite": sqlite, "postgresql": postgresql}[schema_editor.connection.vendor]
    for statement in statements:
        schema_editor.execute(statement, params=None)


def make(apps: Any, schema_editor: Any) -> None:
    _run(schema_editor, SQLITE, POSTGRESQL)


def take_away(apps: Any, schema_editor: Any) -> None:
    _run(schema_editor, SQLITE_BACK, POSTGRESQL_BACK)


class Migration(migrations.Migration):
    initial = True

    dependencies = []

    operations = [
        migrations.CreateModel(
            name="IndexVersion",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("number", models.PositiveIntegerField()),
            ],
        ),
        migrations.CreateModel(
            name="SearchWord",
            fields=[
                ("word", models.CharField(max_length=64, primary_key=True, serialize=False)),
                ("pattern", models.CharField(blank=True, db_index=True, max_length=128)),
            ],
        ),
        migrations.CreateModel(
            name="SearchEntry",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("record_kind", models.CharField(max_length=20)),
                ("record_key", models.CharField(max_length=200)),
                ("anchor", models.CharField(max_length=300)),
                ("kind", models.CharField(max_length=20)),
                ("title", models.TextField()),
                ("body", models.TextField()),
                ("family", models.CharField(max_length=200)),
                ("address", models.TextField()),
                ("title_words", models.TextField()),
                ("body_words", models.TextField()),
                ("cites", models.TextField(blank=True)),
                ("digest", models.CharField(max_length=64)),
            ],
            options={
                "indexes": [
                    models.Index(fields=["record_kind", "record_key"], name="search_record"),
                    models.Index(fields=["id", "kind", "family"], name="search_kind"),
                ],
            },
        ),
        migrations.RunPython(make, take_away),
    ]
