from django.db import migrations, models


class Migration(migrations.Migration):
    initial = True

    dependencies = []

    operations = [
        migrations.CreateModel(
            name="Blob",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("sha256", models.CharField(max_length=64, unique=True)),
                ("media_type", models.CharField(max_length=50)),
                ("width", models.PositiveIntegerField()),
                ("height", models.PositiveIntegerField()),
                ("size", models.PositiveBigIntegerField()),
                ("added_at", models.DateTimeField(auto_now_add=True)),
            ],
            options={"ordering": ["added_at", "sha256"]},
        ),
    ]
