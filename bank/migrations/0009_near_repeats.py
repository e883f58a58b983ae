from django.db import migrations, models


def tell_folds_and_places(apps, schema_editor):
    """Give versions, and what waits to become one, that by which near repeats are known."""
    Version, Candidate, Import = (apps.get_model("bank", name) for name in ("Version", "Candidate", "Import"))
    for version in Version.objects.only("spec").iterator(chunk_size=100):
        Version.objects.filter(pk=version.pk).update(**told(version.spec))
    for candidate in Candidate.objects.filter(question=None).only("content").iterator(chunk_size=100):
        content = candidate.content | told(candidate.content["spec"])
        Candidate.objects.filter(pk=candidate.pk).update(content=content)
    for found in Import.objects.filter(taken_at=None).only("content").iterator(chunk_size=1):
        for entry in found.content.values():
            entry["content"] |= told(entry["content"]["spec"])
        found.save(update_fields=["content"])


def told(spec):
    from geometry.fingerprints import kin_of
    from geometry.folding import fold_sheet
    from geometry.spec import read_spec

    asked = read_spec(spec)
    kin = kin_of(fold_sheet(asked.sheet, asked.folds), asked.punches)
    return {"folding": kin.folds, "punched_at": kin.positions}


class Migration(migrations.Migration):

    dependencies = [
        ('bank', '0008_shelf'),
    ]

    operations = [
        migrations.AddField(
            model_name='version',
            name='folding',
            field=models.CharField(db_index=True, default='', help_text='equal for the same folds', max_length=64),
            preserve_default=False,
        ),
        migrations.AddField(
            model_name='version',
            name='punched_at',
            field=models.JSONField(default=list, help_text='places of the punches, as geometry.fingerprints.Kin has them'),
        ),
        migrations.RunPython(tell_folds_and_places, migrations.RunPython.noop, elidable=True),
    ]
