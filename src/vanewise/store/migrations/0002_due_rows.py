"""The read model of the due list, so that thousands of aircraft are listed without reading their journals."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("store", "0001_initial")]
    operations = [
        migrations.CreateModel(
            name="DueRow",
            fields=[
                ("aircraft", models.CharField(max_length=60, primary_key=True, serialize=False)),
                ("head", models.CharField(max_length=64)),
                ("next_on", models.CharField(db_index=True, max_length=10)),
                ("items", models.TextField()),
            ],
            options={"ordering": ["next_on", "aircraft"]},
        ),
    ]
