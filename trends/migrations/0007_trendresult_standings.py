from django.db import migrations, models

# Fills the columns for results that are there already; recompute writes them from then on.
FILL = """
UPDATE trends_trendresult SET
    latest_value = (outcome ->> 'latest_value')::float,
    highest = (summary #>> '{rest,highest}')::float,
    scale_top = (outcome #>> '{scale,1}')::float,
    first_drawn = (summary #>> '{rest,first_drawn}')::int,
    last_drawn = (summary #>> '{rest,last_drawn}')::int
"""


def _number(kind: type[models.Field]) -> models.Field:
    return kind(blank=True, null=True)


class Migration(migrations.Migration):
    dependencies = [("trends", "0006_trendresult_summary")]

    operations = [
        migrations.AddField("trendresult", "latest_value", _number(models.FloatField)),
        migrations.AddField("trendresult", "highest", _number(models.FloatField)),
        migrations.AddField("trendresult", "scale_top", _number(models.FloatField)),
        migrations.AddField("trendresult", "first_drawn", _number(models.PositiveSmallIntegerField)),
        migrations.AddField("trendresult", "last_drawn", _number(models.PositiveSmallIntegerField)),
        migrations.RunSQL(FILL, migrations.RunSQL.noop),
        migrations.AddIndex(
            "trendresult",
            models.Index(fields=["measure", "station"], name="trend_of_measure_by_station"),
        ),
    ]
