from typing import Any

from django.db import migrations, models


def of_listed(apps: Any, schema_editor: Any) -> None:
    """Where no fish is left out of a list, the score of the listed fish is that of all; others are made anew.

    In the watershed of such a fish all visits wait for that: the one without a score would be where it was met.
    """
    results = apps.get_model("trends", "VisitResult").objects
    hidden = results.filter(visit__passes__catches__taxon__sensitive_location=True)
    guarded = hidden.values("visit__station__watershed")
    results.exclude(visit__station__watershed__in=guarded).update(
        listed_score=models.F("index_score"), listed_rating=models.F("index_rating")
    )


class Migration(migrations.Migration):
    dependencies = [
        ("surveys", "0016_words_of_the_season_desk"),
        ("trends", "0010_calibrated_trait_lists"),
    ]

    operations = [
        migrations.AddField(
            model_name="visitresult",
            name="listed_rating",
            field=models.CharField(blank=True, max_length=60),
        ),
        migrations.AddField(
            model_name="visitresult",
            name="listed_score",
            field=models.FloatField(blank=True, null=True),
        ),
        migrations.RunPython(of_listed, migrations.RunPython.noop),
    ]
