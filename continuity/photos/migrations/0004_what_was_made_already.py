"""Until now a file was stored once its renditions were made, in the request that brought its last piece; what
could not be read was set aside beside the files still awaited. It is kept among the stored ones now, where it
can be tried again."""

from pathlib import Path

from django.conf import settings
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import migrations
from django.db.models import F


EXTENSIONS = {'image/jpeg': 'jpg', 'image/png': 'png', 'image/webp': 'webp'}


def tell_what_was_made(apps, schema_editor):
    files = apps.get_model('photos', 'PhotoFile').objects
    files.filter(state='stored').update(renditions='made', full='made')
    for file in files.filter(state='unreadable'):
        aside = Path(settings.MEDIA_ROOT) / 'partial' / str(file.production_id) / f'{file.sha256}.unreadable'
        if aside.is_file():
            folder = f'photos/{file.production_id}/{file.sha256[:2]}/{file.sha256}'
            name = f'{folder}/original.{EXTENSIONS[file.media_type]}'
            default_storage.delete(name)
            default_storage.save(name, ContentFile(aside.read_bytes()))
    files.filter(state='unreadable').update(
        state='stored', renditions='failed', full='failed', received=F('size')
    )


class Migration(migrations.Migration):

    dependencies = [
        ('photos', '0003_prepared_by_a_worker'),
    ]

    operations = [
        migrations.RunPython(tell_what_was_made, migrations.RunPython.noop, elidable=False),
    ]
