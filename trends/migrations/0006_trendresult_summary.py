from django.db import migrations, models

# Fills the column for results that are there already; recompute writes it from then on.
FILL = """
UPDATE trends_trendresult SET summary = jsonb_build_object(
    'rest', (outcome - '{series,middle,gaps,cautions}'::text[]) || jsonb_build_object(
        'highest', (SELECT max(value::float) FROM jsonb_path_query(outcome, '$.series[*].years[*].value') AS value
                    WHERE jsonb_typeof(value) = 'number'),
        'first_drawn', outcome #> '{middle,0,year}',
        'last_drawn', outcome #> '{middle,-1,year}',
        'first_reason', coalesce((jsonb_path_query_first(
            outcome, '$.series[*].years[*] ? (@.visits.size() > 0 && @.reason != "").reason')) #>> '{}', '')),
    'line', coalesce((SELECT jsonb_agg(jsonb_build_array(y -> 'year', y -> 'value', y -> 'reason', y -> 'method')
                                       ORDER BY place)
                      FROM jsonb_array_elements(outcome -> 'middle') WITH ORDINALITY AS m(y, place)), '[]'))
WHERE outcome <> '{}'
"""


class Migration(migrations.Migration):
    dependencies = [("trends", "0005_trait_lists_and_taxon_operations")]

    operations = [
        migrations.AddField(model_name="trendresult", name="summary", field=models.JSONField(default=dict)),
        migrations.RunSQL(FILL, migrations.RunSQL.noop),
    ]
