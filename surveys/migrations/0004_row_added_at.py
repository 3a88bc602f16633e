import django.contrib.postgres.functions
import pgtrigger.compiler
import pgtrigger.migrations
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('surveys', '0003_entry_receipt'),
    ]

    operations = [
        pgtrigger.migrations.RemoveTrigger(
            model_name='catch',
            name='before_update_update',
        ),
        pgtrigger.migrations.RemoveTrigger(
            model_name='catch',
            name='before_delete_delete',
        ),
        pgtrigger.migrations.RemoveTrigger(
            model_name='removalpass',
            name='before_update_update',
        ),
        pgtrigger.migrations.RemoveTrigger(
            model_name='removalpass',
            name='before_delete_delete',
        ),
        # In two steps, so that rows held already stay empty instead of bearing the day of this migration.
        migrations.AddField(
            model_name='catch',
            name='added_at',
            field=models.DateTimeField(editable=False, null=True),
        ),
        migrations.AddField(
            model_name='catchevent',
            name='added_at',
            field=models.DateTimeField(editable=False, null=True),
        ),
        migrations.AddField(
            model_name='removalpass',
            name='added_at',
            field=models.DateTimeField(editable=False, null=True),
        ),
        migrations.AddField(
            model_name='removalpassevent',
            name='added_at',
            field=models.DateTimeField(editable=False, null=True),
        ),
        migrations.AlterField(
            model_name='catch',
            name='added_at',
            field=models.DateTimeField(db_default=django.contrib.postgres.functions.TransactionNow(), editable=False, null=True),
        ),
        migrations.AlterField(
            model_name='catchevent',
            name='added_at',
            field=models.DateTimeField(db_default=django.contrib.postgres.functions.TransactionNow(), editable=False, null=True),
        ),
        migrations.AlterField(
            model_name='removalpass',
            name='added_at',
            field=models.DateTimeField(db_default=django.contrib.postgres.functions.TransactionNow(), editable=False, null=True),
        ),
        migrations.AlterField(
            model_name='removalpassevent',
            name='added_at',
            field=models.DateTimeField(db_default=django.contrib.postgres.functions.TransactionNow(), editable=False, null=True),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='catch',
            trigger=pgtrigger.compiler.Trigger(name='before_update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "surveys_catchevent" ("added_at", "anomalies", "biomass_g", "count", "id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "removal_pass_id", "taxon_id", "young_of_year") VALUES (OLD."added_at", OLD."anomalies", OLD."biomass_g", OLD."count", OLD."id", _pgh_attach_context(), NOW(), \'before_update\', OLD."id", OLD."removal_pass_id", OLD."taxon_id", OLD."young_of_year"); RETURN NULL;', hash='57b193ff1aeeeb34a44292d8589150f93b3c957e', operation='UPDATE', pgid='pgtrigger_before_update_update_e89dc', table='surveys_catch', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='catch',
            trigger=pgtrigger.compiler.Trigger(name='before_delete_delete', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "surveys_catchevent" ("added_at", "anomalies", "biomass_g", "count", "id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "removal_pass_id", "taxon_id", "young_of_year") VALUES (OLD."added_at", OLD."anomalies", OLD."biomass_g", OLD."count", OLD."id", _pgh_attach_context(), NOW(), \'before_delete\', OLD."id", OLD."removal_pass_id", OLD."taxon_id", OLD."young_of_year"); RETURN NULL;', hash='78106a4cce944ee2bdee232dcb11e182307ee5b1', operation='DELETE', pgid='pgtrigger_before_delete_delete_93c51', table='surveys_catch', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='removalpass',
            trigger=pgtrigger.compiler.Trigger(name='before_update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "surveys_removalpassevent" ("added_at", "biomass_g", "effort_s", "id", "pass_number", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "visit_id") VALUES (OLD."added_at", OLD."biomass_g", OLD."effort_s", OLD."id", OLD."pass_number", _pgh_attach_context(), NOW(), \'before_update\', OLD."id", OLD."visit_id"); RETURN NULL;', hash='01a72ab179f0550d87e1d5365394eeaf98c08cdd', operation='UPDATE', pgid='pgtrigger_before_update_update_5ccf0', table='surveys_removalpass', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='removalpass',
            trigger=pgtrigger.compiler.Trigger(name='before_delete_delete', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "surveys_removalpassevent" ("added_at", "biomass_g", "effort_s", "id", "pass_number", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "visit_id") VALUES (OLD."added_at", OLD."biomass_g", OLD."effort_s", OLD."id", OLD."pass_number", _pgh_attach_context(), NOW(), \'before_delete\', OLD."id", OLD."visit_id"); RETURN NULL;', hash='83971cfd85f8ccf5b19fcb4701ec0540fbe2250a', operation='DELETE', pgid='pgtrigger_before_delete_delete_4f42e', table='surveys_removalpass', when='AFTER')),
        ),
    ]
