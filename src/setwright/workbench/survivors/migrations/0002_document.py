import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("survivors", "0001_initial"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RenameField("survivorregister", "imported_at", "changed_at"),
        migrations.AlterField(
            "survivorregister", "changed_at", models.DateTimeField(default=django.utils.timezone.now)
        ),
        migrations.AddField(
            "survivorregister",
            "changed_by",
            models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.SET_NULL,
                related_name="+",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddField("survivorregister", "removed_at", models.DateTimeField(blank=True, null=True)),
        migrations.AddField("survivorregister", "revision", models.PositiveIntegerField(default=1)),
        migrations.AddField("survivorregister", "key", models.CharField(max_length=200, null=True)),
    ]
