from django.db import migrations


def add_first_method(apps, schema_editor):
    """A new county can load a season at once; its own methods are added in the reference lists."""
    method = apps.get_model("surveys", "SamplingMethod")
    if not method.objects.exists():
        method.objects.create(
            code="electrofishing",
            name="Electrofishing, method not further described",
            gear="electrofishing",
            planned_passes=2,
            reach_rule="",
            season_starts="01-01",
            season_ends="12-31",
            description="Used where neither the file nor the station names a sampling method.",
            is_default=True,
        )


class Migration(migrations.Migration):
    dependencies = [("surveys", "0001_initial")]
    # Going back leaves the row: visits may rest on it.
    operations = [migrations.RunPython(add_first_method, migrations.RunPython.noop)]
