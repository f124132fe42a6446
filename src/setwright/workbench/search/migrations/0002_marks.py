from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("search", "0001_initial")]

    operations = [
        migrations.RemoveIndex("searchentry", "search_record"),
        migrations.AddIndex(
            "searchentry", models.Index(fields=["record_kind", "record_key", "anchor"], name="search_anchor")
        ),
        migrations.CreateModel(
            name="IndexMark",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("record_kind", models.CharField(max_length=20)),
                ("record_key", models.CharField(max_length=200)),
                ("made_of", models.CharField(blank=True, max_length=64)),
                ("behind", models.BooleanField(db_index=True, default=False)),
                ("claim", models.CharField(blank=True, max_length=32)),
                ("problem", models.TextField(blank=True)),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(fields=("record_kind", "record_key"), name="one_mark_a_record")
                ],
            },
        ),
    ]
