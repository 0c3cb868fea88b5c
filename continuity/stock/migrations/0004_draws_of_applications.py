from django.db import migrations


def draw_for_applications(apps, schema_editor):
    """What the applications logged so far took from lots, so that an amount written now counts them too."""
    record_model = apps.get_model("sync", "Record")
    draw_model = apps.get_model("stock", "Draw")
    records = record_model.objects.filter(kind="application", withdrawn=False)
    for record in records.iterator():
        sheet = record.document
        used = {adhesive["material"] for adhesive in sheet.get("adhesives", {}).values()}
        used |= {sheet[name] for name in ("edge_solvent", "sealer", "remover") if sheet.get(name)}
        draw_model.objects.bulk_create(
            draw_model(material_id=material, kind="application", source=record.id, date=sheet["date"])
            for material in sorted(used)
        )


class Migration(migrations.Migration):

    dependencies = [
        ('stock', '0003_draws_and_lower_grades'),
        ('sync', '0001_initial'),
    ]

    operations = [
        migrations.RunPython(draw_for_applications, migrations.RunPython.noop),
    ]
